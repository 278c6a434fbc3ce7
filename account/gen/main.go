// Command gen makes the list of blocked passwords from word lists of Debian packages: cracklib-runtime and wamerican
// (words, for passwords that are one word with padding) and john-data (common passwords; its head says that it is
// assumed to be in the public domain). Only the Bloom filter is committed, from which no word can be read.
//
//	apt-get install cracklib-runtime wamerican john-data
//	go generate ./account
package main

import (
	"bufio"
	"flag"
	"fmt"
	"os"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"lowtide/account"
)

// lists are the sources. Words gives only whole words of letters; Passwords gives every line.
var lists = []struct {
	path      string
	passwords bool
}{
	{"/usr/share/dict/cracklib-small", false},
	{"/usr/share/dict/american-english", false},
	{"/usr/share/john/password.lst", true},
}

// bitsPerWord gives about one wrong hit in 100,000 look-ups, and a password takes up to twenty: a good passphrase is
// hardly ever refused by mistake.
const bitsPerWord = 24

func main() {
	out := flag.String("out", "blocklist.bloom", "file to write")
	flag.Parse()
	if err := run(*out); err != nil {
		fmt.Fprintln(os.Stderr, "gen:", err)
		os.Exit(1)
	}
}

func run(out string) error {
	words := map[string]bool{}
	for _, l := range lists {
		if err := read(l.path, l.passwords, words); err != nil {
			return fmt.Errorf("%w; install the packages that the head of this program names", err)
		}
	}
	sorted := make([]string, 0, len(words))
	for w := range words {
		sorted = append(sorted, w)
	}
	slices.Sort(sorted)
	b := account.NewBloom(len(sorted), bitsPerWord)
	for _, w := range sorted {
		b.Add(w)
	}
	fmt.Printf("%d words, %d bytes\n", len(sorted), len(b.Bytes()))
	return os.WriteFile(out, b.Bytes(), 0o644)
}

func read(path string, passwords bool, words map[string]bool) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	for s := bufio.NewScanner(f); s.Scan(); {
		w := strings.ToLower(strings.TrimSpace(s.Text()))
		letters := strings.IndexFunc(w, func(r rune) bool { return !unicode.IsLetter(r) }) < 0
		switch n := utf8.RuneCountInString(w); {
		case strings.HasPrefix(w, "#!"), n < 4, !passwords && !letters:
		default:
			words[w] = true
		}
	}
	return nil
}
