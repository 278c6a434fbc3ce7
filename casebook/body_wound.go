package casebook

import "time"

// Seen is what a nurse looked for on the patient. Signs holds "none" when she looked and found nothing;
// an empty list means that nobody answered, and is never read as "none".
type Seen struct {
	Signs        []string `json:"signs,omitempty" jsonschema:"maxItems=20" enum:"none,bright red blood,sudden colour change,spreading redness,warmth or swelling,pus,bad smell,dizzy or confused,raw or blistered skin,macerated skin,pain out of proportion,cold or numb limb,headache,flushing,sweating,slow pulse,bowel content" words:"Danger signs"`
	TemperatureC *float64 `json:"temperature_C,omitempty" jsonschema:"minimum=30,maximum=43" unit:"°C" words:"Temperature"`
	SystolicMmHg *float64 `json:"systolic_mmHg,omitempty" jsonschema:"minimum=40,maximum=300" unit:"mmHg" words:"Systolic blood pressure"`
	// SystolicUsualMmHg is the patient's usual systolic pressure, for autonomic dysreflexia.
	SystolicUsualMmHg *float64 `json:"systolic_usual_mmHg,omitempty" jsonschema:"minimum=40,maximum=300" unit:"mmHg" words:"Usual systolic blood pressure"`
	Pain              *float64 `json:"pain,omitempty" jsonschema:"minimum=0,maximum=10" words:"Pain, 0 to 10"`
	// Settles lists signs seen earlier that are now dealt with; Done says what was done and who was told.
	Settles []string `json:"settles,omitempty" jsonschema:"maxItems=20" words:"Signs now dealt with"`
	Done    string   `json:"done,omitempty" jsonschema:"maxLength=1000" words:"What was done and who was told"`
}

// DressingChanged is a change of dressing on one or more wounds, with everything that is seen and done then.
type DressingChanged struct {
	Wounds []WoundChange `json:"wounds" jsonschema:"required,minItems=1,maxItems=12" words:"Wounds"`
	Seal   string        `json:"seal,omitempty" jsonschema:"enum=holds,enum=leaks,enum=not checked" words:"Seal"`
	// SuctionMmHg is what the pump shows after the change.
	SuctionMmHg *float64 `json:"suction_mmHg,omitempty" jsonschema:"minimum=0,maximum=400" unit:"mmHg" words:"Suction shown after the change"`
	// HoldTest and PumpPlace tell what reaches the wound; both are left out when nobody looked.
	HoldTest  *HoldTest  `json:"hold_test,omitempty" words:"Seal hold test"`
	PumpPlace *PumpPlace `json:"pump_place,omitempty" words:"Place of the pump"`
	// MotorPct is the share of time for which the motor runs while it holds SuctionMmHg, for pumps that show it: the
	// second way to tell the leak, without a pause.
	MotorPct *float64 `json:"motor_pct,omitempty" jsonschema:"minimum=0,maximum=100" unit:"%" words:"Motor runs, share of time, if the pump shows it"`
	Seen
	Canister *CanisterRead `json:"canister,omitempty" words:"Canister"`
	Power    *PowerNoted   `json:"power,omitempty" words:"Battery and therapy"`
	// Used are the kits, fillers, canisters and other items that the visit used up.
	Used      []SupplyUsed `json:"used,omitempty" jsonschema:"maxItems=20" words:"Supplies used"`
	NextVisit *time.Time   `json:"next_visit,omitempty" words:"Next visit"`
	Note      string       `json:"note,omitempty" jsonschema:"maxLength=4000" words:"Note"`
}

// SupplyUsed is an item that a visit used up. With From it leaves the agency's stock by this entry, and no supply.moved
// says it again; without, it had come to the patient before.
type SupplyUsed struct {
	Item  string `json:"item" jsonschema:"required,minLength=1,maxLength=80" words:"Item"`
	Count int    `json:"count" jsonschema:"required,minimum=1,maximum=60" words:"How many"`
	// From is where it came from: the shelf, or the car of the entry's author.
	From    string `json:"from,omitempty" jsonschema:"enum=shelf,enum=car" words:"Taken from"`
	Lot     string `json:"lot,omitempty" jsonschema:"maxLength=60" words:"Lot"`
	Expires string `json:"expires,omitempty" jsonschema:"format=date" words:"Use before"`
}

// HoldTest is a bedside test of the seal: the pump is paused and the suction read twice.
type HoldTest struct {
	FirstMmHg  float64 `json:"first_mmHg" jsonschema:"required,minimum=0,maximum=400" unit:"mmHg" words:"Suction when the pump was paused"`
	SecondMmHg float64 `json:"second_mmHg" jsonschema:"required,minimum=0,maximum=400" unit:"mmHg" words:"Suction at the end of the pause"`
	Seconds    float64 `json:"seconds" jsonschema:"required,minimum=1,maximum=3600" unit:"s" words:"Length of the pause"`
}

// PumpPlace is where the pump stands or hangs while it runs. A column of liquid in the tube weakens the suction at
// the wound when the pump is above it and deepens it when the pump is below.
type PumpPlace struct {
	Place string `json:"place,omitempty" jsonschema:"enum=bed,enum=floor,enum=shoulder,enum=other" words:"Where the pump is"`
	// AboveCm is the pump's height above the wound, negative when it is below.
	AboveCm *float64 `json:"above_cm,omitempty" jsonschema:"minimum=-200,maximum=200" unit:"cm" words:"Height of the pump above the wound"`
	// Liquid says how much of the tube's upright run is filled.
	Liquid string `json:"liquid,omitempty" jsonschema:"enum=none,enum=some,enum=full" words:"Liquid in the tube"`
}

// WoundChange is the part of a change that belongs to one wound. Out and In are nil when nobody counted.
type WoundChange struct {
	Wound string   `json:"wound" jsonschema:"required,minLength=1,maxLength=12" words:"Wound"`
	Out   []Pieces `json:"out,omitempty" jsonschema:"maxItems=8" words:"Pieces taken out"`
	In    []Pieces `json:"in,omitempty" jsonschema:"maxItems=8" words:"Pieces put in"`
	// NoneOut and NoneIn say that the count was made and is zero.
	NoneOut      bool     `json:"none_out,omitempty" words:"No piece came out"`
	NoneIn       bool     `json:"none_in,omitempty" words:"No piece went in"`
	ContactLayer *bool    `json:"contact_layer,omitempty" words:"Contact layer put in"`
	Periwound    []string `json:"periwound,omitempty" jsonschema:"maxItems=8" enum:"intact,red,macerated,blistered,raw,itching" words:"Skin around the wound"`
	Bed          []string `json:"bed,omitempty" jsonschema:"maxItems=8" enum:"granulation,slough,eschar,epithelium,friable,pale" words:"Look of the bed"`
	Exudate      string   `json:"exudate,omitempty" jsonschema:"enum=none,enum=little,enum=moderate,enum=much" words:"Exudate"`
}

// WoundMeasured is a size, with the method and the convention that it was taken by: mixing them breaks trends.
type WoundMeasured struct {
	Wound    string   `json:"wound" jsonschema:"required,minLength=1,maxLength=12" words:"Wound"`
	LengthCm *float64 `json:"length_cm,omitempty" jsonschema:"minimum=0,maximum=60" unit:"cm" words:"Length"`
	WidthCm  *float64 `json:"width_cm,omitempty" jsonschema:"minimum=0,maximum=60" unit:"cm" words:"Width"`
	DepthCm  *float64 `json:"depth_cm,omitempty" jsonschema:"minimum=0,maximum=20" unit:"cm" words:"Depth"`
	// AreaCm2 is given only when it was measured as an area; it is never length times width.
	AreaCm2 *float64 `json:"area_cm2,omitempty" jsonschema:"minimum=0,maximum=2000" unit:"cm²" words:"Area, if traced"`
	// PerimeterCm is the length of the edge, given only when it was traced.
	PerimeterCm *float64 `json:"perimeter_cm,omitempty" jsonschema:"minimum=0,maximum=400" unit:"cm" words:"Edge all round, if traced"`
	// VolumeCm3 is given only when it was measured as a volume; VolumeMethod says how.
	VolumeCm3    *float64 `json:"volume_cm3,omitempty" jsonschema:"minimum=0,maximum=10000" unit:"cm³" words:"Volume, if measured"`
	VolumeMethod string   `json:"volume_method,omitempty" jsonschema:"enum=filled with saline,enum=cast,enum=depth camera,enum=other" words:"How the volume was measured"`
	Method       string   `json:"method" jsonschema:"required,enum=ruler,enum=tracing,enum=outline" words:"Method"`
	// Convention says how length and width were laid.
	Convention  string  `json:"convention,omitempty" jsonschema:"enum=head to toe,enum=longest and square to it,enum=longest and widest,enum=head to toe and widest" words:"Convention"`
	Undermining []Under `json:"undermining,omitempty" jsonschema:"maxItems=12" words:"Undermining"`
	Tunnels     []Under `json:"tunnels,omitempty" jsonschema:"maxItems=12" words:"Tunnels"`
	// NoneUnder says that undermining and tunnels were looked for and there are none.
	NoneUnder bool    `json:"none_under,omitempty" words:"Looked for undermining and tunnels: none"`
	Tissue    *Tissue `json:"tissue,omitempty" words:"Tissue shares"`
	// BedLevel tells whether the bed is level with the edges.
	BedLevel *bool  `json:"bed_level,omitempty" words:"Bed level with the edges"`
	Note     string `json:"note,omitempty" jsonschema:"maxLength=4000" words:"Note"`
}

// Under is undermining between two clock positions, or a tunnel at FromClock. 12 is the patient's head
// unless the wound says otherwise.
type Under struct {
	FromClock float64  `json:"from_clock" jsonschema:"required,minimum=1,maximum=12" unit:"o'clock" words:"From"`
	ToClock   *float64 `json:"to_clock,omitempty" jsonschema:"minimum=1,maximum=12" unit:"o'clock" words:"To"`
	DepthCm   float64  `json:"depth_cm" jsonschema:"required,minimum=0,maximum=20" unit:"cm" words:"Depth"`
}

// Tissue gives the shares of the bed in percent; those that are given must sum to 100.
type Tissue struct {
	GranulationPct float64 `json:"granulation_pct,omitempty" jsonschema:"minimum=0,maximum=100" unit:"%" words:"Granulation"`
	SloughPct      float64 `json:"slough_pct,omitempty" jsonschema:"minimum=0,maximum=100" unit:"%" words:"Slough"`
	EscharPct      float64 `json:"eschar_pct,omitempty" jsonschema:"minimum=0,maximum=100" unit:"%" words:"Eschar"`
	EpitheliumPct  float64 `json:"epithelium_pct,omitempty" jsonschema:"minimum=0,maximum=100" unit:"%" words:"Epithelium"`
	OtherPct       float64 `json:"other_pct,omitempty" jsonschema:"minimum=0,maximum=100" unit:"%" words:"Other"`
}

// Sum adds the shares.
func (t Tissue) Sum() float64 {
	return t.GranulationPct + t.SloughPct + t.EscharPct + t.EpitheliumPct + t.OtherPct
}

// PiecesAccounted says where pieces of filler are that a count did not find, or that a recorded count was wrong.
type PiecesAccounted struct {
	Wound  string `json:"wound" jsonschema:"required,minLength=1,maxLength=12" words:"Wound"`
	Filler string `json:"filler" jsonschema:"required,enum=foam,enum=dense foam,enum=gauze,enum=other" words:"Filler"`
	Count  int    `json:"count" jsonschema:"required,minimum=1,maximum=60" words:"Pieces"`
	// Outcome: missing pieces are closed by "found and removed", by "imaging shows none", and by "surgeon rules it out",
	// with the person in By and the day in SaidAt. "surgeon told" closes nothing: it says who looks into it. "count was wrong"
	// explains pieces that came out beyond those put in; a piece that is missing because a count was mistyped is settled by
	// correcting that count.
	Outcome string `json:"outcome" jsonschema:"required,enum=found and removed,enum=imaging shows none,enum=surgeon rules it out,enum=surgeon told,enum=count was wrong" words:"What became of them"`
	// By and SaidAt are needed for "imaging shows none" and "surgeon rules it out".
	By     string     `json:"by,omitempty" jsonschema:"maxLength=120" words:"Who found, read or said it"`
	SaidAt *time.Time `json:"said_at,omitempty" words:"When it was said or read"`
	Note   string     `json:"note" jsonschema:"required,minLength=3,maxLength=1000" words:"Where, which picture, or who was told"`
}

// NoteWritten is free text, with what was seen if anything was looked for.
type NoteWritten struct {
	Text string `json:"text" jsonschema:"required,minLength=1,maxLength=10000" words:"Note"`
	Seen
	// NextVisit plans the next visit.
	NextVisit *time.Time `json:"next_visit,omitempty" words:"Next visit"`
	// PrescriberTold names the person who was told, for findings whose advice is to tell the prescriber.
	PrescriberTold string `json:"prescriber_told,omitempty" jsonschema:"maxLength=120" words:"Prescriber told"`
	// Wish is what the patient said about the therapy.
	Wish string `json:"wish,omitempty" jsonschema:"enum=to go on,enum=to stop,enum=something else,enum=not sure" words:"The patient wishes"`
	// ClotDrug answers whether a drug against clotting that the text names is new to the patient.
	ClotDrug string `json:"clot_drug,omitempty" jsonschema:"enum=new,enum=not new" words:"A drug against clotting in this note is"`
	// About names the rules that the talk was about.
	About []string `json:"about,omitempty" jsonschema:"maxItems=20" words:"About findings"`
}

// Kind returns the kind of the entry.
func (DressingChanged) Kind() Kind { return KindDressingChanged }

func foldDressingChanged(f *Folding, l *Line, b DressingChanged) {
	add(&f.Changes, l, b)
	for _, w := range b.Wounds {
		add(&f.wound(w.Wound).Changes, l, w)
	}
	if b.Canister != nil {
		add(&f.Canister, l, *b.Canister)
	}
	if b.Power != nil {
		add(&f.Power, l, *b.Power)
	}
	add(&f.Seen, l, b.Seen)
}

// Kind returns the kind of the entry.
func (WoundMeasured) Kind() Kind { return KindWoundMeasured }

func foldWoundMeasured(f *Folding, l *Line, b WoundMeasured) {
	add(&f.wound(b.Wound).Measured, l, b)
}

// Kind returns the kind of the entry.
func (PiecesAccounted) Kind() Kind { return KindPiecesAccounted }

func foldPiecesAccounted(f *Folding, l *Line, b PiecesAccounted) {
	add(&f.wound(b.Wound).Accounts, l, b)
}

// Kind returns the kind of the entry.
func (NoteWritten) Kind() Kind { return KindNoteWritten }

func foldNoteWritten(f *Folding, l *Line, b NoteWritten) {
	add(&f.Notes, l, b)
	if !b.Seen.empty() {
		add(&f.Seen, l, b.Seen)
	}
}

func (s Seen) empty() bool {
	return len(s.Signs) == 0 && len(s.Settles) == 0 && s.TemperatureC == nil && s.SystolicMmHg == nil && s.Pain == nil && s.SystolicUsualMmHg == nil
}
