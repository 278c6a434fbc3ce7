// Package equipment describes classes of pumps, canister sizes and fillers, generically and without makes.
// An agency edits its own copy of the file and names it at start.
package equipment

import (
	"bytes"
	"crypto/sha256"
	_ "embed"
	"encoding/hex"
	"fmt"
	"slices"
	"strings"

	"github.com/BurntSushi/toml"
)

//go:embed data/equipment.toml
var builtIn []byte

// Set is everything that the service uses.
type Set struct {
	// Name says whose list it is.
	Name      string     `toml:"name"`
	Pumps     []Pump     `toml:"pump"`
	Canisters []Canister `toml:"canister"`
	Fillers   []Filler   `toml:"filler"`
	Items     []Item     `toml:"item"`
	// Hash is the SHA-256 (hex) of the file.
	Hash string `toml:"-"`
}

// Pump is a class of pumps.
type Pump struct {
	ID    string `toml:"id"`
	Words string `toml:"words"`
	// The range of suctions that can be set.
	ShallowestMmHg float64 `toml:"shallowest_mmHg"`
	DeepestMmHg    float64 `toml:"deepest_mmHg"`
	// The range of run time on a full battery, and the time to charge it.
	RunLeastH float64 `toml:"run_least_h"`
	RunMostH  float64 `toml:"run_most_h"`
	ChargeH   float64 `toml:"charge_h"`
	// Canisters that fit, in mL.
	CanistersML []float64 `toml:"canisters_mL"`
	Source      string    `toml:"source"`
}

// Canister is a size. UsableShare is the part that can be filled before suction may fail.
type Canister struct {
	SizeML      float64 `toml:"size_mL"`
	UsableShare float64 `toml:"usable_share"`
	Source      string  `toml:"source"`
}

// Filler is a kind of filler with the range of suctions usual for it.
type Filler struct {
	ID             string  `toml:"id"`
	Words          string  `toml:"words"`
	ShallowestMmHg float64 `toml:"shallowest_mmHg"`
	DeepestMmHg    float64 `toml:"deepest_mmHg"`
	Source         string  `toml:"source"`
}

// Item is something that is ordered and carried.
type Item struct {
	ID    string `toml:"id"`
	Words string `toml:"words"`
	// Filler, CoversCm2 and LayerCm make the item a dressing kit: what filler is in it, of which area and thickness.
	Filler    string  `toml:"filler"`
	CoversCm2 float64 `toml:"covers_cm2"`
	LayerCm   float64 `toml:"layer_cm"`
	// CanisterML makes it a canister of that size.
	CanisterML float64 `toml:"canister_mL"`
	// Spare is how many are carried for each patient of the day in case they are needed.
	Spare int `toml:"spare"`
}

// BuiltIn returns the list that comes with the program.
func BuiltIn() *Set {
	s, err := Parse(builtIn)
	if err != nil {
		panic("equipment: built-in list: " + err.Error())
	}
	return s
}

// Parse reads a list. The error names every problem with its place and remedy.
func Parse(raw []byte) (*Set, error) {
	var s Set
	meta, err := toml.NewDecoder(bytes.NewReader(raw)).Decode(&s)
	if err != nil {
		return nil, fmt.Errorf("equipment: %w", err)
	}
	var wrong []string
	say := func(format string, args ...any) { wrong = append(wrong, fmt.Sprintf(format, args...)) }
	for _, k := range meta.Undecoded() {
		say("%s is not known here; remove it or mend its spelling", k)
	}
	if s.Name == "" {
		say("name is missing; say whose list this is")
	}
	seen := map[string]bool{}
	id := func(kind, id string) {
		if id == "" || seen[kind+id] {
			say("%s %q: the id must be given and be its own; choose another", kind, id)
		}
		seen[kind+id] = true
	}
	for _, p := range s.Pumps {
		id("pump", p.ID)
		if !(0 <= p.ShallowestMmHg && p.ShallowestMmHg < p.DeepestMmHg && p.DeepestMmHg <= 400) {
			say("pump %s: suction from %v to %v mmHg; give a range within 0 to 400, shallower first", p.ID, p.ShallowestMmHg, p.DeepestMmHg)
		}
		if !(0 < p.RunLeastH && p.RunLeastH <= p.RunMostH) {
			say("pump %s: run time from %v to %v h; give two positive times, shorter first", p.ID, p.RunLeastH, p.RunMostH)
		}
		if p.ChargeH <= 0 {
			say("pump %s: charge_h %v; give the hours of a full charge", p.ID, p.ChargeH)
		}
		for _, c := range p.CanistersML {
			if !slices.ContainsFunc(s.Canisters, func(x Canister) bool { return x.SizeML == c }) {
				say("pump %s: canister of %v mL is not listed; add it under [[canister]]", p.ID, c)
			}
		}
		if p.Source == "" {
			say("pump %s: source is missing; name it, or write \"common practice, no published source\"", p.ID)
		}
	}
	for _, c := range s.Canisters {
		id("canister", fmt.Sprint(c.SizeML))
		if !(20 <= c.SizeML && c.SizeML <= 3000) || !(0 < c.UsableShare && c.UsableShare <= 1) || c.Source == "" {
			say("canister of %v mL: size must be 20 to 3000, usable_share above 0 to 1, and a source named", c.SizeML)
		}
	}
	for _, f := range s.Fillers {
		id("filler", f.ID)
		if !(0 <= f.ShallowestMmHg && f.ShallowestMmHg < f.DeepestMmHg) || f.Source == "" {
			say("filler %s: give a range of suctions, shallower first, and a source", f.ID)
		}
	}
	for _, i := range s.Items {
		id("item", i.ID)
		s.item(i, say)
	}
	if len(wrong) > 0 {
		return nil, fmt.Errorf("equipment: %s", strings.Join(wrong, "\nequipment: "))
	}
	sum := sha256.Sum256(raw)
	s.Hash = hex.EncodeToString(sum[:])
	return &s, nil
}

// item checks what makes an item a kit or a canister.
func (s *Set) item(i Item, say func(format string, args ...any)) {
	if i.Words == "" {
		say("item %s: words are missing; say what it is", i.ID)
	}
	kit := i.Filler != "" || i.CoversCm2 != 0 || i.LayerCm != 0
	if kit && (!slices.ContainsFunc(s.Fillers, func(f Filler) bool { return f.ID == i.Filler }) || !(0 < i.CoversCm2 && i.CoversCm2 <= 5000) || !(0 < i.LayerCm && i.LayerCm <= 20)) {
		say("item %s: a kit needs a filler that is listed, covers_cm2 above 0 to 5000 and layer_cm above 0 to 20", i.ID)
	}
	if i.CanisterML != 0 && (kit || !slices.ContainsFunc(s.Canisters, func(c Canister) bool { return c.SizeML == i.CanisterML })) {
		say("item %s: a canister of %v mL is not listed, or it is a kit too; add it under [[canister]]", i.ID, i.CanisterML)
	}
	if i.Spare < 0 || i.Spare > 20 {
		say("item %s: spare %d; give 0 to 20", i.ID, i.Spare)
	}
}

// Item returns the item that somebody wrote, by its ID or its words.
func (s *Set) Item(text string) (Item, bool) {
	text = strings.TrimSpace(text)
	i := slices.IndexFunc(s.Items, func(x Item) bool { return strings.EqualFold(x.ID, text) || strings.EqualFold(x.Words, text) })
	if i < 0 {
		return Item{}, false
	}
	return s.Items[i], true
}

// ItemID is the ID of the item that somebody wrote; the text itself, and false, when it is not in the list.
func (s *Set) ItemID(text string) (id string, listed bool) {
	if i, ok := s.Item(text); ok {
		return i.ID, true
	}
	return strings.TrimSpace(text), false
}

// ItemWords says an item.
func (s *Set) ItemWords(id string) string {
	if i, ok := s.Item(id); ok {
		return i.Words
	}
	return id
}

// Pump returns the class with the ID.
func (s *Set) Pump(id string) (Pump, bool) {
	i := slices.IndexFunc(s.Pumps, func(p Pump) bool { return p.ID == id })
	if i < 0 {
		return Pump{}, false
	}
	return s.Pumps[i], true
}

// Canister returns the canister of the size.
func (s *Set) Canister(sizeML float64) (Canister, bool) {
	i := slices.IndexFunc(s.Canisters, func(c Canister) bool { return c.SizeML == sizeML })
	if i < 0 {
		return Canister{}, false
	}
	return s.Canisters[i], true
}
