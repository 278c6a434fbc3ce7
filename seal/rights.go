package seal

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// regular refuses what is no plain file: a pipe or a device has no rights that could be trusted.
func regular(f *os.File) (fs.FileInfo, error) {
	info, err := f.Stat()
	if err == nil && !info.Mode().IsRegular() {
		err = fmt.Errorf("%w: it is no regular file", ErrNotAKey)
	}
	return info, err
}

// bits judges the nine bits of a file's rights, and those of its folder.
func bits(file, folder fs.FileInfo, path string) error {
	if file.Mode().Perm()&0o077 != 0 {
		return fmt.Errorf("%w (its rights are %04o): type chmod 600 %s, and think about who may have read it: lowtide key rotate makes a new one", ErrOpenToOthers, file.Mode().Perm(), path)
	}
	if folder.Mode().Perm()&0o022 != 0 && folder.Mode()&fs.ModeSticky == 0 {
		return fmt.Errorf("%w: others may replace files in its folder (rights %04o): type chmod go-w %s", ErrOpenToOthers, folder.Mode().Perm(), filepath.Dir(path))
	}
	return nil
}

// accessList is what Windows keeps in place of bits: who owns a file, and who may do what with it.
type accessList struct {
	owner string // SID
	// none tells that there is no list at all, which leaves the file open to everybody. A list without entries is
	// something else: it leaves it open to nobody.
	none    bool
	entries []access
}

// access is one entry of an access list. Its numbers are those of Windows ([MS-DTYP], sections 2.4.3 and 2.4.4; from memory).
type access struct {
	kind  byte
	flags byte
	mask  uint32
	who   string // SID; empty for kinds that are not plain
}

const (
	allowed         = 0
	denied          = 1
	allowedWhen     = 9 // if a condition holds: taken as if it did
	deniedWhen      = 10
	forChildrenOnly = 0x08

	readData    = 0x1
	writeData   = 0x2
	appendData  = 0x4
	deleteChild = 0x40
	deleteIt    = 0x1_0000
	writeList   = 0x4_0000
	writeOwner  = 0x8_0000
	everyRight  = 0x1200_0000 // all, or as many as one has
	genericAll  = 0x1000_0000
	genericRead = 0x8000_0000
	genericWrit = 0x4000_0000

	// Who can always take a file over, as root can elsewhere, is no "other".
	system         = "S-1-5-18"
	administrators = "S-1-5-32-544"
	ownerRights    = "S-1-3-4"
	installer      = "S-1-5-80-956008885-3418522649-1831038044-1853292631-2271478464" // owns a system's own folders

	fileRights   = readData | writeData | appendData | deleteIt | writeList | writeOwner | everyRight | genericRead | genericWrit
	folderRights = deleteChild | writeList | writeOwner | genericAll
)

// plain tells that an entry of this kind holds a mask and a SID, one after the other.
func plain(kind byte) bool {
	return kind == allowed || kind == denied || kind == allowedWhen || kind == deniedWhen
}

// others are those who get one of the rights from the list, beside me and those who can take everything over. What a
// list denies is not set off against what it allows: rather one refusal too many.
func (l accessList) others(rights uint32, me string) []string {
	if l.none {
		return []string{"everybody"}
	}
	var all []string
	if !trusted(l.owner, me) {
		all = append(all, words(l.owner))
	}
	for _, e := range l.entries {
		switch {
		case e.flags&forChildrenOnly != 0, e.kind == denied, e.kind == deniedWhen:
		case !plain(e.kind):
			all = append(all, fmt.Sprintf("an entry of kind %d, which Lowtide does not know", e.kind))
		case e.mask&rights != 0 && !trusted(e.who, me):
			all = append(all, words(e.who))
		}
	}
	slices.Sort(all)
	return slices.Compact(all)
}

func trusted(who, me string) bool {
	return who == me || who == system || who == administrators || who == ownerRights || who == installer
}

// words names the groups that everybody has, by the SID that they have everywhere.
func words(who string) string {
	switch who {
	case "S-1-1-0":
		return "everybody"
	case "S-1-5-11":
		return "everybody who signed in"
	case "S-1-5-32-545":
		return "all users"
	case "S-1-5-32-546", "S-1-5-7":
		return "guests"
	}
	return who
}

// accessLists judges what bits judges elsewhere.
func accessLists(file, folder accessList, me, path string) error {
	if who := file.others(fileRights, me); len(who) > 0 {
		return fmt.Errorf("%w (%s): type icacls \"%s\" /inheritance:r /grant:r \"%%USERNAME%%:F\", and think about who may have read it: lowtide key rotate makes a new one", ErrOpenToOthers, strings.Join(who, ", "), path)
	}
	if who := folder.others(folderRights, me); len(who) > 0 {
		return fmt.Errorf("%w: others may replace files in its folder (%s): put it into a folder of your own", ErrOpenToOthers, strings.Join(who, ", "))
	}
	return nil
}
