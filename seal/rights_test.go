package seal

import (
	"errors"
	"strings"
	"testing"
)

// TestAccessLists: who on Windows may read or replace a key file. The lists are those that a file gets in the places
// where people put files.
func TestAccessLists(t *testing.T) {
	const me, colleague, users, everybody = "S-1-5-21-1-2-3-1001", "S-1-5-21-1-2-3-1002", "S-1-5-32-545", "S-1-1-0"
	const full, readAndRun, modify = 0x1f01ff, 0x1200a9, 0x1301bf
	list := func(owner string, entries ...access) accessList { return accessList{owner: owner, entries: entries} }
	mine := list(me, access{who: me, mask: full}, access{who: system, mask: full}, access{who: administrators, mask: full})
	for name, c := range map[string]struct {
		file, folder accessList
		want         string // empty: it may be used
	}{
		"for me alone":                          {mine, mine, ""},
		"nobody at all":                         {list(me), mine, ""},
		"made by an administrator":              {list(administrators, access{who: me, mask: full}), mine, ""},
		"the owner's rights":                    {list(me, access{who: ownerRights, mask: full}), mine, ""},
		"all users read":                        {list(me, access{who: me, mask: full}, access{who: users, mask: readAndRun, flags: 0x10}), mine, "all users"},
		"everybody, by a generic right":         {list(me, access{who: everybody, mask: 0x8000_0000}), mine, "everybody"},
		"everybody, as much as there is":        {list(me, access{who: everybody, mask: 0x0200_0000}), mine, "everybody"},
		"a colleague may only write":            {list(me, access{who: colleague, mask: 0x2}), mine, colleague},
		"a colleague may change the list":       {list(me, access{who: colleague, mask: 0x4_0000}), mine, colleague},
		"a colleague may read its attributes":   {list(me, access{who: colleague, mask: 0x10_0080}), mine, ""},
		"a colleague owns it":                   {list(colleague, access{who: me, mask: full}), mine, colleague},
		"no list":                               {accessList{owner: me, none: true}, mine, "everybody"},
		"denied, then allowed":                  {list(me, access{kind: denied, who: users, mask: full}, access{who: users, mask: readAndRun}), mine, "all users"},
		"only denied":                           {list(me, access{kind: denied, who: everybody, mask: full}), mine, ""},
		"allowed under a condition":             {list(me, access{kind: allowedWhen, who: users, mask: readAndRun}), mine, "all users"},
		"a kind that is not known":              {list(me, access{kind: 5, mask: 0}), mine, "kind 5"},
		"for files in a folder only":            {list(me, access{who: users, mask: full, flags: forChildrenOnly | 0x1}), mine, ""},
		"a folder where users make files":       {mine, list(system, access{who: users, mask: 0x1200a9}, access{who: "S-1-5-11", mask: modify}), ""},
		"a folder where users take files away":  {mine, list(me, access{who: "S-1-5-11", mask: full}), "everybody who signed in"},
		"a folder whose rights a colleague has": {mine, list(me, access{who: colleague, mask: 0x4_0000}), colleague},
		"a colleague's folder":                  {mine, list(colleague, access{who: me, mask: full}), colleague},
	} {
		err := accessLists(c.file, c.folder, me, `C:\keys\s.db.key`)
		switch {
		case c.want == "" && err != nil:
			t.Errorf("%s: %v", name, err)
		case c.want != "" && (!errors.Is(err, ErrOpenToOthers) || !strings.Contains(err.Error(), c.want)):
			t.Errorf("%s: %v; want it refused because of %s", name, err, c.want)
		}
	}
}
