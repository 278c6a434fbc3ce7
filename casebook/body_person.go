package casebook

import (
	"time"

	"lowtide/unit"
)

// Tags on the fields of bodies are the single description of the file format: `json` names the field with
// its unit, `jsonschema` gives what is required, the range and the allowed words, `words` is the label on
// forms. intake checks by them, docs/format/case.schema.json is generated from them, forms are labelled by them.

// PersonRegistered is who the case is about. A later one replaces an earlier one.
type PersonRegistered struct {
	Name string `json:"name" jsonschema:"required,minLength=1,maxLength=120" words:"Name"`
	Born string `json:"born,omitempty" jsonschema:"format=date" words:"Born"`
	// Record is the agency's own number for the patient.
	Record string `json:"record,omitempty" jsonschema:"maxLength=60" words:"Record number"`
	// Place is where the patient lies: it decides who is near when something happens.
	Place   string `json:"place" jsonschema:"required,enum=ward,enum=nursing home,enum=home" words:"Place"`
	Address string `json:"address,omitempty" jsonschema:"maxLength=200" words:"Ward and bed, or address"`
	// Zone is the IANA name of the time zone that the patient's days are counted in.
	Zone     string   `json:"zone" jsonschema:"required,minLength=1,maxLength=60" words:"Time zone"`
	Nurse    string   `json:"nurse,omitempty" jsonschema:"maxLength=60" words:"Nurse in charge"`
	Team     string   `json:"team,omitempty" jsonschema:"maxLength=60" words:"Team"`
	Mobility string   `json:"mobility,omitempty" jsonschema:"enum=in bed,enum=chair,enum=walks" words:"Mobility"`
	Language string   `json:"language,omitempty" jsonschema:"maxLength=40" words:"Language"`
	WeightKg *float64 `json:"weight_kg,omitempty" jsonschema:"minimum=0.5,maximum=350" unit:"kg" words:"Weight"`
	// AltitudeM is that of the place of care, above the sea; nil is not recorded.
	AltitudeM *float64  `json:"altitude_m,omitempty" jsonschema:"minimum=-500,maximum=6000" unit:"m" words:"Altitude of the place of care"`
	Contacts  []Contact `json:"contacts,omitempty" jsonschema:"maxItems=10" words:"People to call"`
}

// Contact is somebody to call.
type Contact struct {
	Role  string `json:"role" jsonschema:"required,enum=carer,enum=prescriber,enum=nurse on call,enum=pump supplier,enum=other" words:"Role"`
	Name  string `json:"name,omitempty" jsonschema:"maxLength=120" words:"Name"`
	Phone string `json:"phone,omitempty" jsonschema:"maxLength=40" words:"Telephone"`
}

// WoundFound opens a wound. Wound is a short name within the case, such as "A".
type WoundFound struct {
	Wound string `json:"wound" jsonschema:"required,minLength=1,maxLength=12" words:"Short name"`
	Site  string `json:"site" jsonschema:"required,minLength=1,maxLength=120" words:"Where on the body"`
	// Spot and Side are where it is on the drawing of a body. They say nothing that Site does not say, and never replace it.
	Spot  string `json:"spot,omitempty" jsonschema:"enum=face,enum=scalp,enum=ear,enum=back of the head,enum=neck,enum=shoulder,enum=chest,enum=belly,enum=groin,enum=perineum,enum=upper back,enum=lower back,enum=sacrum,enum=hip,enum=buttock,enum=sitting bone,enum=upper arm,enum=elbow,enum=forearm,enum=palm,enum=back of the hand,enum=finger,enum=front of the thigh,enum=back of the thigh,enum=knee,enum=hollow of the knee,enum=shin,enum=calf,enum=ankle,enum=heel,enum=top of the foot,enum=sole,enum=toe" words:"Place on the body map"`
	Side  string `json:"side,omitempty" jsonschema:"enum=left,enum=right,enum=middle" words:"Side of the patient"`
	Type  string `json:"type" jsonschema:"required,enum=pressure,enum=diabetic foot,enum=venous,enum=arterial,enum=mixed leg,enum=surgical,enum=traumatic,enum=graft,enum=other" words:"Type"`
	Stage string `json:"stage,omitempty" jsonschema:"enum=2,enum=3,enum=4,enum=unstageable" words:"Stage, for a pressure injury"`
	Since string `json:"since,omitempty" jsonschema:"format=date" words:"Present since"`
	// Limb tells whether the wound is on a limb, where a dressing can go all the way round.
	Limb            *bool `json:"limb,omitempty" words:"On an arm, leg, hand or foot"`
	Circumferential *bool `json:"circumferential,omitempty" words:"Dressing goes all the way round"`
	PoorPerfusion   *bool `json:"poor_perfusion,omitempty" words:"Poor blood supply"`
	Infected        *bool `json:"infected,omitempty" words:"Infected"`
	// Clock says what 12 o'clock is when it is not the head ("toes", "heel").
	Clock string `json:"clock,omitempty" jsonschema:"maxLength=40" words:"What 12 o'clock is, if not the head"`
	// InPlace is filler that was already in the wound when this service took over.
	InPlace []Pieces `json:"in_place,omitempty" jsonschema:"maxItems=8" words:"Filler already in the wound"`
	// InPlaceUnknown says that there is filler in the wound and nobody knows how much.
	InPlaceUnknown bool `json:"in_place_unknown,omitempty" words:"There is filler in the wound but its count is not known"`
}

// Pieces counts filler of one kind. A bridge counts as a piece of its own.
type Pieces struct {
	Filler string `json:"filler" jsonschema:"required,enum=foam,enum=dense foam,enum=gauze,enum=other" words:"Filler"`
	Count  int    `json:"count" jsonschema:"required,minimum=0,maximum=60" words:"Pieces"`
}

// ScreeningDone answers the questions of [Questions]. A question that is not answered stays unknown; it is
// never read as "no".
type ScreeningDone struct {
	// Wound limits the answers to one wound; empty means all wounds of the case.
	Wound   string            `json:"wound,omitempty" jsonschema:"maxLength=12" words:"Wound"`
	Answers map[string]string `json:"answers" jsonschema:"required" words:"Answers"`
	Note    string            `json:"note,omitempty" jsonschema:"maxLength=4000" words:"Note"`
}

// TeachingGiven is what was explained to whom.
type TeachingGiven struct {
	To         string   `json:"to" jsonschema:"required,enum=patient,enum=carer,enum=staff" words:"To"`
	Topics     []string `json:"topics" jsonschema:"required,minItems=1,maxItems=12" enum:"alarms,leak,canister,battery,bleeding,infection,off-time,whom to call" words:"Topics"`
	Understood *bool    `json:"understood,omitempty" words:"Said back correctly"`
	Note       string   `json:"note,omitempty" jsonschema:"maxLength=4000" words:"Note"`
}

// ReviewSigned records that a person read a review. Hash is the review's hash; with Rules and Program the
// same review can be made again.
type ReviewSigned struct {
	Hash    string    `json:"hash" jsonschema:"required,minLength=64,maxLength=64" words:"Hash of the review"`
	AsOf    time.Time `json:"as_of" jsonschema:"required" words:"Review as of"`
	Rules   string    `json:"rules" jsonschema:"required,maxLength=64" words:"Rule set"`
	Program string    `json:"program" jsonschema:"required,maxLength=60" words:"Program version"`
	// Purpose says what was signed: handover and end of therapy are refused while a filler count is open.
	Purpose string   `json:"purpose" jsonschema:"required,enum=visit,enum=handover,enum=end of therapy" words:"Signed for"`
	Open    []string `json:"open,omitempty" jsonschema:"maxItems=400" words:"Findings open at that time"`
	Note    string   `json:"note,omitempty" jsonschema:"maxLength=4000" words:"Note"`
}

// Kind returns the kind of the entry.
func (PersonRegistered) Kind() Kind { return KindPersonRegistered }

func foldPersonRegistered(f *Folding, l *Line, b PersonRegistered) {
	f.Person = datedP(l, b)
	if zone, ok := unit.Zone(b.Zone); ok {
		f.Zone, f.ZoneKnown = zone, true
	}
}

// Kind returns the kind of the entry.
func (WoundFound) Kind() Kind { return KindWoundFound }

func foldWoundFound(f *Folding, l *Line, b WoundFound) {
	f.wound(b.Wound).Found = datedP(l, b)
}

// Kind returns the kind of the entry.
func (ScreeningDone) Kind() Kind { return KindScreeningDone }

func foldScreeningDone(f *Folding, l *Line, b ScreeningDone) {
	add(&f.Screenings, l, b)
}

// Kind returns the kind of the entry.
func (TeachingGiven) Kind() Kind { return KindTeachingGiven }

func foldTeachingGiven(f *Folding, l *Line, b TeachingGiven) {
	add(&f.Teaching, l, b)
}

// Kind returns the kind of the entry.
func (ReviewSigned) Kind() Kind { return KindReviewSigned }

func foldReviewSigned(f *Folding, l *Line, b ReviewSigned) {
	// A signature out of a file is what the file says, and no signature here.
	if !l.Entry.Came.Claimed() {
		add(&f.Signed, l, b)
	}
}
