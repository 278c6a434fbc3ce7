package casebook

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"time"
)

// Entry is one thing that happened, written once.
type Entry struct {
	// ID is a UUIDv7, made where the entry is made.
	ID string
	// Case is the case that the entry belongs to.
	Case string
	// Kind and Version choose the Go type of Body.
	Kind    Kind
	Version int
	// At is when it happened, with the offset of the place; Recorded is when it was written.
	At       time.Time
	Recorded time.Time
	// Author is the account that wrote it.
	Author string
	// Body is never nil in an entry that [Decode] returned; kinds or versions this program does not know
	// carry an [Unknown].
	Body Body
	// Blobs are the SHA-256 (hex) of photos and logs that belong to the entry.
	Blobs []string
	// Corrects is the ID of the entry that an entry.corrected corrects; Reason says why.
	Corrects string
	Reason   string
	// Came says that the entry came by file; nil for one that was written here. The store knows it, not the entry: it is
	// no part of the canonical form.
	Came *Came
}

// Body is the content of an entry: one Go struct for each kind.
type Body interface{ Kind() Kind }

// Unknown is the body of a kind or version that this program does not know. It is shown, kept and passed
// on byte for byte.
type Unknown struct {
	Of  Kind
	Raw json.RawMessage
}

// Kind returns the kind that the entry claimed.
func (u Unknown) Kind() Kind { return u.Of }

// wire is the JSON form of an entry; the order of its fields is the canonical order.
type wire struct {
	ID       string          `json:"id"`
	Case     string          `json:"case"`
	Kind     Kind            `json:"kind"`
	Version  int             `json:"version"`
	At       time.Time       `json:"at"`
	Recorded time.Time       `json:"recorded"`
	Author   string          `json:"author"`
	Body     json.RawMessage `json:"body"`
	Blobs    []string        `json:"blobs,omitempty"`
	Corrects string          `json:"corrects,omitempty"`
	Reason   string          `json:"reason,omitempty"`
}

// MarshalJSON writes the canonical form: fixed field order, times in RFC 3339 with their offset.
func (e Entry) MarshalJSON() ([]byte, error) {
	body, err := marshalBody(e.Body)
	if err != nil {
		return nil, fmt.Errorf("casebook: entry %s: %w", e.ID, err)
	}
	return json.Marshal(wire{e.ID, e.Case, e.Kind, e.Version, e.At, e.Recorded, e.Author, body, e.Blobs, e.Corrects, e.Reason})
}

func marshalBody(b Body) (json.RawMessage, error) {
	switch b := b.(type) {
	case nil:
		return json.RawMessage("{}"), nil
	case Unknown:
		var buf bytes.Buffer
		if err := json.Compact(&buf, b.Raw); err != nil {
			return nil, err
		}
		return buf.Bytes(), nil
	}
	return json.Marshal(b)
}

// UnmarshalJSON reads the canonical form. A body of a kind or version that is not known, or that does not
// fit its type, becomes an [Unknown]: an entry is never dropped. Checking values is intake's work.
func (e *Entry) UnmarshalJSON(raw []byte) error {
	var w wire
	if err := json.Unmarshal(raw, &w); err != nil {
		return err
	}
	*e = Entry{w.ID, w.Case, w.Kind, w.Version, w.At, w.Recorded, w.Author, nil, w.Blobs, w.Corrects, w.Reason, nil}
	e.Body = decodeBody(w.Kind, w.Version, w.Body)
	if make, ok := ownBodies[w.Kind]; ok && w.Version == 1 && Reserved(w.Case) {
		if b, err := make(w.Body); err == nil {
			e.Body = b
		}
	}
	return nil
}

func decodeBody(kind Kind, version int, raw json.RawMessage) Body {
	if len(raw) == 0 {
		raw = json.RawMessage("{}")
	}
	if k := Find(kind); k != nil && version == k.Version {
		if b, err := k.decode(raw); err == nil {
			return b
		}
	}
	return Unknown{Of: kind, Raw: append(json.RawMessage(nil), raw...)}
}

// Hash is the SHA-256 (hex) of the canonical form.
func (e Entry) Hash() string {
	raw, err := e.MarshalJSON()
	if err != nil {
		// Only an Unknown with broken JSON gets here; its raw bytes still tell it apart.
		raw = []byte(e.ID + err.Error())
	}
	sum := sha256.Sum256(raw)
	return hex.EncodeToString(sum[:])
}

// SameContent tells whether two entries say the same of the same moment. The time of writing is not compared: a form that
// is sent twice is written at two times.
func SameContent(a, b Entry) bool {
	x, errX := marshalBody(a.Body)
	y, errY := marshalBody(b.Body)
	return errX == nil && errY == nil && string(x) == string(y) && a.Kind == b.Kind && a.At.Equal(b.At) && a.Corrects == b.Corrects && a.Reason == b.Reason
}
