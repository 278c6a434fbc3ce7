package pumplog

import (
	"bytes"
	"io"
	"unicode/utf16"
	"unicode/utf8"
)

// Limits of a table. They keep memory bounded whatever arrives.
const (
	maxRow     = 1 << 20 // bytes of one row
	maxColumns = 256
	chunk      = 256 << 10
	headBytes  = 256 << 10 // from which a mapping is guessed
	headLines  = 60        // among which the header is looked for
)

// rowReader splits a stream into rows and fields. It is written for this one purpose because a log of four months has
// to be read and judged in 150 ms: fields are slices of the buffer and nothing is allocated per row.
type rowReader struct {
	src       io.Reader
	delimiter byte
	buf       []byte
	from, to  int // unread part of buf
	eof       bool
	err       error
	line      int // number of the line on which the row begins
	next      int
	fields    [][]byte
	scratch   []byte // unquoted fields of one row
}

func newRowReader(src io.Reader, delimiter byte) *rowReader {
	return &rowReader{src: src, delimiter: delimiter, buf: make([]byte, chunk), next: 1, fields: make([][]byte, 0, 32)}
}

// fill reads more, growing the buffer up to one row's limit.
func (r *rowReader) fill() bool {
	if r.eof {
		return false
	}
	if r.from > 0 {
		copy(r.buf, r.buf[r.from:r.to])
		r.to -= r.from
		r.from = 0
	}
	if r.to == len(r.buf) {
		r.buf = append(r.buf, make([]byte, min(len(r.buf), maxRow+chunk))...)
	}
	for range 100 { // a source that gives nothing for ever ends
		n, err := r.src.Read(r.buf[r.to:])
		r.to += n
		if err != nil {
			r.eof = true
			if err != io.EOF {
				r.err = err
			}
		}
		if n > 0 || r.eof {
			return n > 0
		}
	}
	r.eof, r.err = true, io.ErrNoProgress
	return false
}

// row returns the fields of the next row, valid until the next call. why is not empty when the row is too long or has
// too many fields; ok is false at the end.
func (r *rowReader) row() (fields [][]byte, why string, ok bool) {
	scan := 0
	for {
		if i := bytes.IndexByte(r.buf[r.from+scan:r.to], '\n'); i >= 0 {
			line := r.buf[r.from : r.from+scan+i]
			if bytes.IndexByte(line, '"') >= 0 {
				return r.quoted()
			}
			r.line = r.next
			r.next++
			r.from += scan + i + 1
			return r.split(line)
		}
		scan = r.to - r.from
		if scan > maxRow {
			return r.skip("the row is longer than 1 MB")
		}
		if !r.fill() {
			break
		}
	}
	if r.from == r.to {
		return nil, "", false
	}
	line := r.buf[r.from:r.to]
	if bytes.IndexByte(line, '"') >= 0 {
		return r.quoted()
	}
	r.line = r.next
	r.next++
	r.from = r.to
	return r.split(line)
}

// skip passes over everything up to the next line.
func (r *rowReader) skip(words string) ([][]byte, string, bool) {
	r.line = r.next
	r.next++
	for {
		if i := bytes.IndexByte(r.buf[r.from:r.to], '\n'); i >= 0 {
			r.from += i + 1
			return nil, words, true
		}
		r.from = r.to
		if !r.fill() {
			return nil, words, true
		}
	}
}

func (r *rowReader) split(line []byte) ([][]byte, string, bool) {
	if n := len(line); n > 0 && line[n-1] == '\r' {
		line = line[:n-1]
	}
	f := r.fields[:0]
	for {
		i := bytes.IndexByte(line, r.delimiter)
		if i < 0 {
			break
		}
		if len(f) == maxColumns {
			return nil, "the row has more than 256 fields", true
		}
		f = append(f, line[:i])
		line = line[i+1:]
	}
	r.fields = append(f, line)
	return r.fields, "", true
}

// quoted reads a row that has a quotation mark: a field in marks may hold delimiters, line ends and doubled marks. A
// mark that is never closed does not swallow the file: then the row ends at its line, and is not used.
func (r *rowReader) quoted() ([][]byte, string, bool) {
	r.scratch = r.scratch[:0]
	f := r.fields[:0]
	var ends []int
	i, lines, inside, start := 0, 0, false, true
	for {
		if r.from+i >= r.to {
			if i > maxRow || !r.fill() {
				if inside {
					return r.skip("a quotation mark is not closed")
				}
				break
			}
		}
		c := r.buf[r.from+i]
		i++
		switch {
		case inside && c == '"':
			if r.from+i >= r.to {
				r.fill()
			}
			if r.from+i < r.to && r.buf[r.from+i] == '"' {
				r.scratch = append(r.scratch, '"')
				i++
				continue
			}
			inside = false
		case inside:
			if c == '\n' {
				lines++
			}
			if lines > 100 || i > maxRow {
				return r.skip("a quotation mark is not closed")
			}
			r.scratch = append(r.scratch, c)
		case c == '"' && start:
			inside, start = true, false
		case c == r.delimiter:
			ends, start = append(ends, len(r.scratch)), true
		case c == '\n':
			goto done
		case i > maxRow:
			return r.skip("the row is longer than 1 MB")
		default:
			r.scratch, start = append(r.scratch, c), false
		}
	}
done:
	if n := len(r.scratch); n > 0 && r.scratch[n-1] == '\r' {
		r.scratch = r.scratch[:n-1]
	}
	r.line = r.next
	r.next += lines + 1
	r.from += i
	if len(ends) >= maxColumns {
		return nil, "the row has more than 256 fields", true
	}
	from := 0
	for _, e := range append(ends, len(r.scratch)) {
		e = min(e, len(r.scratch))
		f = append(f, r.scratch[from:e])
		from = e
	}
	r.fields = f
	return f, "", true
}

// utf16Reader turns UTF-16 into UTF-8 as it streams.
type utf16Reader struct {
	src   io.Reader
	big   bool
	in    []byte
	n     int // bytes waiting in in
	out   []byte
	ended bool
}

func (u *utf16Reader) Read(p []byte) (int, error) {
	for len(u.out) == 0 {
		if u.ended {
			return 0, io.EOF
		}
		if u.in == nil {
			u.in = make([]byte, 64<<10)
		}
		n, err := u.src.Read(u.in[u.n:])
		u.n += n
		if err != nil {
			if u.ended = true; err != io.EOF {
				return 0, err
			}
		}
		u.convert()
	}
	n := copy(p, u.out)
	u.out = u.out[n:]
	return n, nil
}

func (u *utf16Reader) convert() {
	var out []byte
	at := func(i int) rune {
		if u.big {
			return rune(u.in[i])<<8 | rune(u.in[i+1])
		}
		return rune(u.in[i+1])<<8 | rune(u.in[i])
	}
	i := 0
	for ; i+1 < u.n; i += 2 {
		c := at(i)
		if utf16.IsSurrogate(c) {
			if i+3 >= u.n && !u.ended {
				break
			}
			low := rune(0)
			if i+3 < u.n {
				low = at(i + 2)
			}
			if c = utf16.DecodeRune(c, low); c != utf8.RuneError {
				i += 2
			}
		}
		out = utf8.AppendRune(out, c)
	}
	u.n = copy(u.in, u.in[i:u.n])
	u.out = out
}

// decoded looks at the first bytes and returns a stream of UTF-8, or of single bytes that are read as Latin-1 where
// they are no UTF-8.
func decoded(src io.Reader) (io.Reader, string) {
	head := make([]byte, 1024)
	n, err := io.ReadFull(src, head)
	head = head[:n]
	rest := src
	if err != nil && err != io.EOF && err != io.ErrUnexpectedEOF {
		rest = failing{err}
	}
	join := func(b []byte) io.Reader { return io.MultiReader(bytes.NewReader(b), rest) }
	switch {
	case bytes.HasPrefix(head, []byte{0xEF, 0xBB, 0xBF}):
		return join(head[3:]), "UTF-8"
	case bytes.HasPrefix(head, []byte{0xFF, 0xFE}):
		return &utf16Reader{src: join(head[2:])}, "UTF-16"
	case bytes.HasPrefix(head, []byte{0xFE, 0xFF}):
		return &utf16Reader{src: join(head[2:]), big: true}, "UTF-16"
	}
	even, odd := 0, 0
	for i, c := range head {
		if c == 0 && i%2 == 0 {
			even++
		} else if c == 0 {
			odd++
		}
	}
	switch half := n / 2; {
	case half > 8 && odd > half*8/10 && even < half/10:
		return &utf16Reader{src: join(head)}, "UTF-16"
	case half > 8 && even > half*8/10 && odd < half/10:
		return &utf16Reader{src: join(head), big: true}, "UTF-16"
	}
	return join(head), "UTF-8"
}

type failing struct{ err error }

func (f failing) Read([]byte) (int, error) { return 0, f.err }

// text makes a cell printable: UTF-8, or else Latin-1; no control characters; at most n runes.
func text(b []byte, n int) string {
	out := make([]rune, 0, min(len(b), n))
	add := func(c rune) bool {
		if c < ' ' || c == 0x7f || (c >= 0x80 && c < 0xa0) || c == utf8.RuneError || c == 0x2028 || c == 0x2029 || (c >= 0x202a && c <= 0x202e) || (c >= 0x2066 && c <= 0x2069) {
			c = ' '
		}
		out = append(out, c)
		return len(out) < n
	}
	if len(b) > 4*n {
		b = b[:4*n]
		for len(b) > 0 && !utf8.Valid(b) && len(b) > 4*n-4 {
			b = b[:len(b)-1]
		}
	}
	if utf8.Valid(b) {
		for _, c := range string(b) {
			if !add(c) {
				break
			}
		}
	} else {
		for _, c := range b {
			if !add(rune(c)) {
				break
			}
		}
	}
	return string(bytes.TrimSpace([]byte(string(out))))
}
