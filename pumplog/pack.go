package pumplog

import (
	"bytes"
	"compress/flate"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"io"
	"math"
)

// packMagic begins a packed log; the last byte is the version.
const packMagic = "lowtide log\x00\x01"

// packHead is the JSON head of a packed log.
type packHead struct {
	Pump     string   `json:"pump,omitempty"`
	Words    []string `json:"words"`
	Samples  int      `json:"samples"`
	JoinedMs int64    `json:"joined_ms,omitempty"`
}

// Pack makes a log small: a JSON head, then each column as variable-length differences, all of it deflated. Suction is
// kept to 0.1 mmHg, flow to 0.1 mL/min, share and battery to 0.1 %. The same log gives the same bytes.
func Pack(l *Log) []byte {
	head, err := json.Marshal(packHead{l.Pump, l.Words, len(l.Samples), l.JoinedMs})
	if err != nil {
		panic("pumplog: " + err.Error()) // strings and numbers always marshal
	}
	var out bytes.Buffer
	out.WriteString(packMagic)
	w, err := flate.NewWriter(&out, flate.DefaultCompression)
	if err != nil {
		panic("pumplog: " + err.Error()) // the level is a valid one
	}
	var col []byte
	col = binary.AppendUvarint(col, uint64(len(head)))
	col = append(col, head...)
	put := func(value func(*Sample) int64) {
		last, step := int64(0), int64(0)
		for i := range l.Samples {
			v := value(&l.Samples[i])
			// Differences of differences: a steady clock gives zeros.
			d := v - last
			col = binary.AppendVarint(col, d-step)
			last, step = v, d
		}
	}
	flat := func(value func(*Sample) int64) {
		last := int64(0)
		for i := range l.Samples {
			v := value(&l.Samples[i])
			col = binary.AppendVarint(col, v-last)
			last = v
		}
	}
	put(func(s *Sample) int64 { return s.T })
	put(func(s *Sample) int64 { return int64(s.Row) })
	for _, f := range []func(*Sample) int64{
		func(s *Sample) int64 { return tenths(s.SuctionMmHg) }, func(s *Sample) int64 { return tenths(s.FlowMLMin) },
		func(s *Sample) int64 { return tenths(s.MotorPct) }, func(s *Sample) int64 { return tenths(s.BatteryPct) },
		func(s *Sample) int64 { return int64(s.Rows) }, func(s *Sample) int64 { return int64(s.Therapy) },
		func(s *Sample) int64 { return int64(s.Plugged) }, func(s *Sample) int64 { return int64(s.Alarm) },
	} {
		flat(f)
	}
	// A bytes.Buffer takes everything.
	_, _ = w.Write(col)
	_ = w.Close()
	return out.Bytes()
}

// untold stands for NaN among tenths.
const untold = -1 << 40

func tenths(x float32) int64 {
	if !known(x) {
		return untold
	}
	return int64(math.Round(float64(x) * 10))
}

func fromTenths(v int64) float32 {
	if v == untold {
		return nan32
	}
	return float32(float64(v) / 10)
}

// IsPacked tells whether the bytes begin as a packed log.
func IsPacked(b []byte) bool { return bytes.HasPrefix(b, []byte(packMagic)) }

// Unpack reads what [Pack] wrote and refuses everything else, also values that no reading gives.
func Unpack(b []byte) (*Log, error) {
	if !IsPacked(b) {
		return nil, fmt.Errorf("pumplog: these bytes are no packed log")
	}
	const most = maxSamples*40 + 1<<20
	raw, err := io.ReadAll(io.LimitReader(flate.NewReader(bytes.NewReader(b[len(packMagic):])), most+1))
	if err != nil || len(raw) > most {
		return nil, fmt.Errorf("pumplog: the packed log cannot be unpacked: %v", err)
	}
	n, k := binary.Uvarint(raw)
	if k <= 0 || n > uint64(len(raw)-k) {
		return nil, fmt.Errorf("pumplog: the packed log has no head")
	}
	var head packHead
	if err := json.Unmarshal(raw[k:k+int(n)], &head); err != nil {
		return nil, fmt.Errorf("pumplog: the packed log's head: %w", err)
	}
	raw = raw[k+int(n):]
	if head.Samples < 0 || head.Samples > maxSamples || head.Samples > len(raw) || len(head.Words) == 0 || len(head.Words) > 256 || head.JoinedMs < 0 {
		return nil, fmt.Errorf("pumplog: the packed log's head does not fit its content")
	}
	l := &Log{Pump: head.Pump, Words: head.Words, JoinedMs: head.JoinedMs, Samples: make([]Sample, head.Samples)}
	c := columns{raw: raw, l: l}
	c.read(true, func(s *Sample, v int64) bool { s.T = v; return true })
	c.read(true, func(s *Sample, v int64) bool { s.Row = uint32(v); return v >= 0 && v <= math.MaxUint32 })
	c.read(false, func(s *Sample, v int64) bool { s.SuctionMmHg = fromTenths(v); return within(v, 10*deepest) })
	c.read(false, func(s *Sample, v int64) bool { s.FlowMLMin = fromTenths(v); return within(v, 2_000_000) })
	c.read(false, func(s *Sample, v int64) bool { s.MotorPct = fromTenths(v); return within(v, 1005) })
	c.read(false, func(s *Sample, v int64) bool { s.BatteryPct = fromTenths(v); return within(v, 1005) })
	c.read(false, func(s *Sample, v int64) bool { s.Rows = uint32(v); return v >= 1 && v <= math.MaxUint32 })
	c.read(false, func(s *Sample, v int64) bool { s.Therapy = uint8(v); return v >= 0 && v <= 2 })
	c.read(false, func(s *Sample, v int64) bool { s.Plugged = uint8(v); return v >= 0 && v <= 2 })
	c.read(false, func(s *Sample, v int64) bool { s.Alarm = uint8(v); return v >= 0 && int(v) < len(l.Words) })
	for i := 1; i < len(l.Samples) && !c.bad; i++ {
		c.bad = l.Samples[i].T <= l.Samples[i-1].T
	}
	if c.bad || len(c.raw) > 0 {
		return nil, fmt.Errorf("pumplog: the packed log's columns do not fit its head")
	}
	return l, nil
}

func within(v, most int64) bool { return v == untold || (v >= 0 && v <= most) }

type columns struct {
	raw []byte
	l   *Log
	bad bool
}

func (c *columns) read(twice bool, set func(*Sample, int64) bool) {
	last, step := int64(0), int64(0)
	for i := range c.l.Samples {
		d, k := binary.Varint(c.raw)
		if k <= 0 || c.bad {
			c.bad = true
			return
		}
		c.raw = c.raw[k:]
		if twice {
			step += d
			d = step
		}
		last += d
		if !set(&c.l.Samples[i], last) {
			c.bad = true
			return
		}
	}
}
