package account

import (
	"io"
	"slices"
	"sort"
	"strings"
	"time"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"lowtide/casebook"
)

// The kinds of a token's entries.
const (
	KindToken      casebook.Kind = "account.token"
	KindTokenEnded casebook.Kind = "account.token_ended"
)

// TokenMade lets another system read. Hash is the SHA-256 (hex) of its key, which is shown once and never kept.
type TokenMade struct {
	ID    string `json:"id"`
	Label string `json:"label"`
	Hash  string `json:"hash"`
	// Scopes are the kinds of resources that it may read; "*" is all.
	Scopes []string `json:"scopes"`
	// Teams are those whose patients it may read; none is all.
	Teams []string  `json:"teams,omitempty"`
	Until time.Time `json:"until"`
}

// TokenEnded takes a token away.
type TokenEnded struct {
	ID string `json:"id"`
}

// Kind implements [casebook.Body].
func (TokenMade) Kind() casebook.Kind { return KindToken }

// Kind implements [casebook.Body].
func (TokenEnded) Kind() casebook.Kind { return KindTokenEnded }

func init() {
	casebook.Own[TokenMade](KindToken)
	casebook.Own[TokenEnded](KindTokenEnded)
}

// Token is a token as the entries say.
type Token struct {
	TokenMade
	Made time.Time
	By   string
}

// May tells whether the token may read a kind of resource.
func (t *Token) May(kind string) bool {
	return slices.Contains(t.Scopes, "*") || slices.Contains(t.Scopes, kind)
}

// OnList tells whether the token may read the patients of a team.
func (t *Token) OnList(team string) bool {
	return len(t.Teams) == 0 || slices.ContainsFunc(t.Teams, func(own string) bool { return strings.EqualFold(own, team) })
}

// longestToken is how long a token may be good, in days.
const longestToken = 366

// Tokens lists the tokens that were not taken away, also those that have run out, newest first.
func (s *Set) Tokens() []*Token {
	out := make([]*Token, 0, len(s.tokens))
	for _, t := range s.tokens {
		out = append(out, t)
	}
	sort.Slice(out, func(i, j int) bool {
		if !out[i].Made.Equal(out[j].Made) {
			return out[i].Made.After(out[j].Made)
		}
		return out[i].ID < out[j].ID
	})
	return out
}

// ByToken returns the token whose key has the hash, if it is good now.
func (s *Set) ByToken(hash string, now time.Time) *Token {
	for _, t := range s.tokens {
		if t.Hash == hash && now.Before(t.Until) && now.After(t.Made.Add(-clockSlack)) {
			return t
		}
	}
	return nil
}

// MakeToken makes a token and returns its key, of which only the hash is kept. The error is a [Refused] or comes from
// random.
func (s *Set) MakeToken(label string, scopes, known, teams []string, days int, now time.Time, random io.Reader) (body casebook.Body, key string, err error) {
	label = strings.Join(strings.Fields(norm.NFC.String(label)), " ")
	if n := utf8.RuneCountInString(label); n == 0 || n > maxShown {
		return nil, "", &Refused{"label", "The name of the other system is missing or longer than 60 letters.", "Write which system reads with this token."}
	}
	if len(scopes) == 0 {
		return nil, "", &Refused{"scopes", "Nothing is chosen that it may read.", "Tick at least one."}
	}
	for _, x := range scopes {
		if x != "*" && !slices.Contains(known, x) {
			return nil, "", &Refused{"scopes", "There is no kind of resource of that name.", "Tick those of the list."}
		}
	}
	if days < 1 || days > longestToken {
		return nil, "", &Refused{"days", "The number of days is not between 1 and 366.", "Take as few as the other system needs."}
	}
	_, _, kept, refused := cleanPerson("token", []Role{Reader}, teams)
	if refused != nil {
		return nil, "", refused
	}
	if key, err = NewKey(random); err != nil {
		return nil, "", err
	}
	hash := HashKey(key)
	return TokenMade{ID: hash[:16], Label: label, Hash: hash, Scopes: scopes, Teams: kept, Until: now.AddDate(0, 0, days)}, key, nil
}

// EndToken takes a token away. The error is a [Refused].
func (s *Set) EndToken(id string) (casebook.Body, error) {
	if s.tokens[id] == nil {
		return nil, &Refused{"id", "There is no such token.", "Look at the list again."}
	}
	return TokenEnded{id}, nil
}
