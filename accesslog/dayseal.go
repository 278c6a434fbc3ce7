package accesslog

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"image/color"
	"strconv"
	"strings"
	"time"

	"github.com/boombuler/barcode/qr"

	"lowtide/casebook"
)

// DaySeal is a seal of the day: how far the store and its access log had come at a moment, short enough to be printed,
// sent or typed. Kept somewhere else, it shows later that neither was put back or made anew.
type DaySeal struct {
	At time.Time
	// Key is the ID of the store's key.
	Key string
	// Store and Access are marks whose heads are cut to [sealHead] digits.
	Store, Access casebook.Mark
}

const (
	sealTag = "LOWTIDE-SEAL-1"
	// sealHead is how many hex digits of a head a seal has: 128 bits, which nobody can find a second chain for.
	sealHead = 32
	sealTime = "20060102T1504Z"
	sealSum  = 8
)

// ErrNoSeal: the text holds no seal of the day, or one that was mistyped.
var ErrNoSeal = errors.New("this is no seal of the day")

// SealOf makes the seal of a moment. key is the ID of the store's key.
func SealOf(ctx context.Context, store, log casebook.Store, key string, now time.Time) (s DaySeal, err error) {
	s = DaySeal{At: now.UTC().Truncate(time.Minute), Key: key}
	if s.Store, err = store.Mark(ctx); err == nil && log != nil {
		s.Access, err = log.Mark(ctx)
	}
	for _, m := range []*casebook.Mark{&s.Store, &s.Access} {
		m.Head = m.Head[:min(len(m.Head), sealHead)]
	}
	return s, err
}

// Text is the seal in one line of capitals and digits:
//
//	LOWTIDE-SEAL-1 20260312T1000Z KEY STORECOUNT:HEAD ACCESSCOUNT:HEAD SUM
//
// The sum, eight digits of the SHA-256 of what stands before it, shows a mistyped one.
func (s DaySeal) Text() string {
	text := strings.ToUpper(fmt.Sprintf("%s %s %s %d:%s %d:%s", sealTag, s.At.UTC().Format(sealTime), s.Key, s.Store.Count, s.Store.Head, s.Access.Count, s.Access.Head))
	return text + " " + sumOf(text)
}

func sumOf(text string) string {
	sum := sha256.Sum256([]byte(text))
	return strings.ToUpper(hex.EncodeToString(sum[:])[:sealSum])
}

// ParseSeal finds a seal of the day in a text, whatever stands around it and however it was broken into lines. Error:
// [ErrNoSeal].
func ParseSeal(text string) (DaySeal, error) {
	fields := strings.Fields(strings.ToUpper(text))
	for i, f := range fields {
		if f == sealTag && len(fields) >= i+6 {
			return parseFields(fields[i : i+6])
		}
	}
	return DaySeal{}, fmt.Errorf("accesslog: %w: it starts with %s and has five parts after it", ErrNoSeal, sealTag)
}

func parseFields(f []string) (s DaySeal, err error) {
	if got := sumOf(strings.Join(f[:5], " ")); got != f[5] {
		return s, fmt.Errorf("accesslog: %w: its last part should be %s and is %.20s: a digit was mistyped", ErrNoSeal, got, f[5])
	}
	if s.At, err = time.Parse(sealTime, f[1]); err != nil {
		return s, fmt.Errorf("accesslog: %w: %.30s is no time", ErrNoSeal, f[1])
	}
	if raw, err := hex.DecodeString(f[2]); err != nil || len(raw) > 32 {
		return s, fmt.Errorf("accesslog: %w: %.30s is no key ID", ErrNoSeal, f[2])
	}
	s.Key = strings.ToLower(f[2])
	for i, m := range []*casebook.Mark{&s.Store, &s.Access} {
		count, head, _ := strings.Cut(f[3+i], ":")
		m.Count, err = strconv.ParseInt(count, 10, 64)
		_, hexErr := hex.DecodeString(head)
		if err != nil || hexErr != nil || m.Count < 0 || strconv.FormatInt(m.Count, 10) != count || len(head) != sealHead && (m.Count != 0 || head != "") {
			return s, fmt.Errorf("accesslog: %w: %.60s is no count and head", ErrNoSeal, f[3+i])
		}
		m.Head = strings.ToLower(head)
	}
	return s, nil
}

// Against tells what of the seal does not hold any more, one sentence each; none when all does. log may be nil when
// there is no access log at hand.
func (s DaySeal) Against(ctx context.Context, store, log casebook.Store) ([]string, error) {
	var out []string
	for _, side := range []struct {
		name  string
		store casebook.Store
		mark  casebook.Mark
	}{{"store", store, s.Store}, {"access log", log, s.Access}} {
		if side.mark.Count == 0 {
			continue
		}
		if side.store == nil {
			out = append(out, fmt.Sprintf("The %s of the seal is not there: it held %d records on %s.", side.name, side.mark.Count, clock(s.At)))
			continue
		}
		end, err := side.store.Mark(ctx)
		if err != nil {
			return nil, fmt.Errorf("accesslog: %w", err)
		}
		links, err := side.store.Feed(ctx, side.mark.Count-1, 1)
		switch {
		case err != nil:
			return nil, fmt.Errorf("accesslog: %w", err)
		case end.Count < side.mark.Count:
			out = append(out, fmt.Sprintf("The %s is older than the seal of %s: it holds %d records, and held %d then.", side.name, clock(s.At), end.Count, side.mark.Count))
		case len(links) != 1 || !strings.HasPrefix(links[0].Hash, side.mark.Head):
			out = append(out, fmt.Sprintf("Record %d of the %s is not the one of the seal of %s: the chain was made anew, or the seal is of another store.", side.mark.Count, side.name, clock(s.At)))
		}
	}
	return out, nil
}

// Code is the seal's text as a QR code (ISO/IEC 18004, level M), row by row; true is dark. The quiet zone is not part
// of it.
func (s DaySeal) Code() ([][]bool, error) {
	code, err := qr.Encode(s.Text(), qr.M, qr.AlphaNumeric)
	if err != nil {
		return nil, fmt.Errorf("accesslog: the code of a seal: %w", err)
	}
	b := code.Bounds()
	rows := make([][]bool, b.Dy())
	for y := range rows {
		rows[y] = make([]bool, b.Dx())
		for x := range rows[y] {
			g := color.GrayModel.Convert(code.At(b.Min.X+x, b.Min.Y+y)).(color.Gray)
			rows[y][x] = g.Y < 128
		}
	}
	return rows, nil
}
