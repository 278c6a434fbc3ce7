package account

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

const (
	// MinPassword and MaxPassword count code points. SP 800-63B (revision 4) asks for 15 where a password is the
	// only factor, and for at least 64 to be taken; docs/decisions/0014 says why everybody has the same.
	MinPassword, MaxPassword = 15, 256
	// maxPasswordBytes bounds what is normalised and hashed at all.
	maxPasswordBytes = 4 * MaxPassword
	// minRest is how much of a password has to stay when the parts that anybody would guess are taken away.
	minRest = 8
)

// Normal is the form in which a password is hashed: Unicode NFC, so that the same letters typed on another keyboard
// are the same password. ok is false when no account can have it.
func Normal(password string) (normal string, ok bool) {
	if len(password) > maxPasswordBytes || !utf8.ValidString(password) {
		return "", false
	}
	return norm.NFC.String(password), true
}

// CheckPassword judges a new password. context are words that belong to the account, such as its names. There are
// no rules about which characters have to be in it. The error is a [Refused].
func CheckPassword(password string, context ...string) (normal string, err error) {
	refuse := func(what, next string) (string, error) { return "", &Refused{"password", what, next} }
	const other = "Take three or four words that do not belong together, or let a password manager make one."
	normal, ok := Normal(password)
	n := utf8.RuneCountInString(normal)
	switch {
	case !ok || n > MaxPassword:
		return refuse("The password is longer than 256 characters.", "Shorten it.")
	case n < MinPassword:
		return refuse("The password has fewer than 15 characters.", "Three or four words with spaces between them are long enough and easy to remember.")
	case strings.IndexFunc(normal, unicode.IsControl) >= 0:
		return refuse("The password has a character that cannot be typed on every keyboard.", "Leave it out.")
	}
	low := strings.ToLower(normal)
	switch {
	case blocked.has(low):
		return refuse("The password is on the list of common ones.", other)
	case repeats([]rune(low)):
		return refuse("The password is one piece said over and over.", other)
	case paddedWord(low):
		return refuse("The password is one word with digits or signs around it, which programs try first.", other)
	case rest(low, append(slices.Clone(context), "lowtide")) < minRest:
		return refuse("The password is mostly a row of keys, or a name that belongs to this account or program.", other)
	}
	return normal, nil
}

// repeats tells whether a text is one piece repeated, the last time perhaps in part.
func repeats(r []rune) bool {
	for period := 1; period <= len(r)/2; period++ {
		if slices.Equal(r[period:], r[:len(r)-period]) {
			return true
		}
	}
	return false
}

// plainLetters undoes the usual exchanges of letters for digits and signs. "1" stands for i or l, so there are two.
var plainLetters = [...]*strings.Replacer{
	strings.NewReplacer("0", "o", "1", "i", "3", "e", "4", "a", "5", "s", "7", "t", "8", "b", "@", "a", "$", "s", "!", "i"),
	strings.NewReplacer("0", "o", "1", "l", "3", "e", "4", "a", "5", "s", "7", "t", "8", "b", "@", "a", "$", "s", "!", "l"),
}

// paddedWord tells whether nothing but digits and signs stands around one word of the list. The word may be spelt
// with digits for letters.
func paddedWord(low string) bool {
	notLetter := func(r rune) bool { return !unicode.IsLetter(r) }
	core := strings.TrimFunc(low, notLetter)
	if blocked.has(core) {
		return true
	}
	// A digit at the edge can be padding or a letter, so every way to cut the edges is tried.
	runes := []rune(low)
	front, back := 0, len(runes)
	for front < len(runes) && notLetter(runes[front]) {
		front++
	}
	for back > front && notLetter(runes[back-1]) {
		back--
	}
	for _, exchange := range plainLetters {
		for i := max(0, front-2); i <= front; i++ {
			for j := back; j <= min(len(runes), back+2); j++ {
				if blocked.has(exchange.Replace(string(runes[i:j]))) {
					return true
				}
			}
		}
	}
	return false
}

// keyRows are what fingers run along.
var keyRows = []string{"abcdefghijklmnopqrstuvwxyz", "01234567890", "qwertyuiop", "asdfghjkl", "zxcvbnm", "qwertzuiop", "yxcvbnm", "azertyuiop", "qsdfghjklm", "wxcvbn", "1qaz2wsx3edc4rfv5tgb6yhn7ujm8ik"}

// rest counts the characters that stay when words of the context are taken out and every run of three or more keys,
// or of the same character, counts as one.
func rest(low string, context []string) int {
	for _, c := range context {
		for _, w := range append(strings.FieldsFunc(strings.ToLower(norm.NFC.String(c)), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }), strings.ToLower(c)) {
			if utf8.RuneCountInString(w) >= 3 {
				low = strings.ReplaceAll(low, w, "")
			}
		}
	}
	r, n := []rune(low), 0
	for i := 0; i < len(r); n++ {
		run := 1
		for i+run < len(r) && (r[i+run] == r[i] && allSame(r[i:i+run]) || inRow(string(r[i:i+run+1]))) {
			run++
		}
		if run < 3 {
			run = 1
		}
		i += run
	}
	return n
}

func allSame(r []rune) bool {
	return !slices.ContainsFunc(r, func(x rune) bool { return x != r[0] })
}

// inRow tells whether a text runs along a row of keys, forwards or backwards.
func inRow(s string) bool {
	back := []rune(s)
	slices.Reverse(back)
	return slices.ContainsFunc(keyRows, func(row string) bool { return strings.Contains(row, s) || strings.Contains(row, string(back)) })
}
