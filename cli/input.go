package cli

import (
	"bytes"
	"fmt"
	"io"
	"os"
)

// mostInput bounds what is read where a command names no smaller size.
const mostInput = 16 << 20

// readInput reads a file, or standard input for "-", of at most that many bytes. The byte-order mark that some editors
// put before a text is left out.
func readInput(stdin io.Reader, name string, most int64) ([]byte, error) {
	r := stdin
	if name != "-" {
		f, err := os.Open(name)
		if err != nil {
			return nil, err
		}
		defer f.Close()
		r = f
	}
	raw, err := readAtMost(r, most)
	return bytes.TrimPrefix(raw, byteOrderMark), err
}

// byteOrderMark is U+FEFF in UTF-8.
var byteOrderMark = []byte("\xef\xbb\xbf")

func readAtMost(r io.Reader, most int64) ([]byte, error) {
	raw, err := io.ReadAll(io.LimitReader(r, most+1))
	if err == nil && int64(len(raw)) > most {
		err = fmt.Errorf("it is larger than %d MiB", most>>20)
	}
	return raw, err
}
