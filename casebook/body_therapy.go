package casebook

import "time"

// OrderWritten is what the prescriber ordered, as written. Values that look wrong are kept as they were
// typed, and the rules name what looks wrong; they are never changed silently.
type OrderWritten struct {
	Prescriber string   `json:"prescriber,omitempty" jsonschema:"maxLength=120" words:"Prescriber"`
	Wounds     []string `json:"wounds,omitempty" jsonschema:"maxItems=12" words:"Wounds"`
	// Stages is the repeating program; one stage is continuous therapy.
	Stages []Stage `json:"stages,omitempty" jsonschema:"maxItems=12" words:"Stages"`
	Filler string  `json:"filler,omitempty" jsonschema:"enum=foam,enum=dense foam,enum=gauze,enum=other" words:"Filler"`
	// ContactLayer is "none" when the order says that there is none; empty when the order does not say.
	ContactLayer string   `json:"contact_layer,omitempty" jsonschema:"enum=none,enum=non-adherent,enum=silicone,enum=other" words:"Contact layer"`
	ChangeEveryH *float64 `json:"change_every_h,omitempty" jsonschema:"minimum=1,maximum=400" unit:"h" words:"Change every"`
	Goal         string   `json:"goal,omitempty" jsonschema:"maxLength=200" words:"Goal of therapy"`
	// GoalKind says the goal so that a forecast can be made of it; GoalDepthCm and GoalAreaCm2 are the size to get
	// under. "bed level" is read as a depth of at most 0.3 cm when no depth is given; "level and granulated" asks for
	// that depth and for GoalGranulationPct of the bed, 100 when it is not given.
	GoalKind           string   `json:"goal_kind,omitempty" jsonschema:"enum=bed level,enum=level and granulated,enum=depth under,enum=area under,enum=closed" words:"Goal as a size"`
	GoalDepthCm        *float64 `json:"goal_depth_cm,omitempty" jsonschema:"minimum=0.1,maximum=20" unit:"cm" words:"Depth to get under"`
	GoalAreaCm2        *float64 `json:"goal_area_cm2,omitempty" jsonschema:"minimum=0.1,maximum=2000" unit:"cm²" words:"Area to get under"`
	GoalGranulationPct *float64 `json:"goal_granulation_pct,omitempty" jsonschema:"minimum=10,maximum=100" unit:"%" words:"Granulation to reach"`
	DurationDays       *float64 `json:"duration_days,omitempty" jsonschema:"minimum=1,maximum=365" unit:"d" words:"For how many days"`
	// AcceptsRisks lists the screening questions answered "yes" that the prescriber confirmed in writing.
	AcceptsRisks []string `json:"accepts_risks,omitempty" jsonschema:"maxItems=40" words:"Risks that the prescriber confirmed in writing"`
	Note         string   `json:"note,omitempty" jsonschema:"maxLength=4000" words:"Note"`
}

// Stage is a suction held for a time. SuctionMmHg is a depth below ambient, written positive.
type Stage struct {
	SuctionMmHg float64  `json:"suction_mmHg" jsonschema:"required,minimum=-2000,maximum=2000" unit:"mmHg" words:"Suction"`
	HoldMin     *float64 `json:"hold_min,omitempty" jsonschema:"minimum=0.1,maximum=100000" unit:"min" words:"Hold"`
}

// OrderStopped ends the order in force without another one.
type OrderStopped struct {
	By   string `json:"by" jsonschema:"required,minLength=1,maxLength=120" words:"Stopped by"`
	Note string `json:"note,omitempty" jsonschema:"maxLength=4000" words:"Why"`
}

// PumpAssigned gives a pump to the patient. One pump may serve several wounds.
type PumpAssigned struct {
	Pump string `json:"pump" jsonschema:"required,minLength=1,maxLength=40" words:"Pump number"`
	// Class is the ID of a pump class in the equipment file.
	Class      string   `json:"class,omitempty" jsonschema:"maxLength=40" words:"Class of pump"`
	CanisterML *float64 `json:"canister_mL,omitempty" jsonschema:"minimum=20,maximum=3000" unit:"mL" words:"Canister size"`
	Wounds     []string `json:"wounds,omitempty" jsonschema:"maxItems=12" words:"Wounds"`
	Note       string   `json:"note,omitempty" jsonschema:"maxLength=4000" words:"Note"`
}

// PumpReturned takes the pump back.
type PumpReturned struct {
	Pump    string `json:"pump" jsonschema:"required,minLength=1,maxLength=40" words:"Pump number"`
	Cleaned *bool  `json:"cleaned,omitempty" words:"Cleaned"`
	Note    string `json:"note,omitempty" jsonschema:"maxLength=4000" words:"Note"`
}

// CanisterRead is a look at the canister.
type CanisterRead struct {
	// Pump names the pump whose canister it is; empty is the only pump with the patient.
	Pump     string   `json:"pump,omitempty" jsonschema:"maxLength=40" words:"Pump whose canister it is"`
	VolumeML *float64 `json:"volume_mL,omitempty" jsonschema:"minimum=0,maximum=3000" unit:"mL" words:"Volume in the canister"`
	// Changed says that a new canister went in after the reading.
	Changed *bool `json:"changed,omitempty" words:"New canister put in"`
	// SizeML is the size of the new canister, when it differs from the one before.
	SizeML *float64 `json:"size_mL,omitempty" jsonschema:"minimum=20,maximum=3000" unit:"mL" words:"Size of the new canister"`
	Colour string   `json:"colour,omitempty" jsonschema:"enum=clear,enum=straw,enum=pink,enum=blood-tinged,enum=bright red,enum=brown,enum=green,enum=cloudy" words:"Colour"`
	Note   string   `json:"note,omitempty" jsonschema:"maxLength=4000" words:"Note"`
}

// AlarmReported is an alarm that somebody saw or heard.
type AlarmReported struct {
	// Pump says which of several pumps raised it.
	Pump  string `json:"pump,omitempty" jsonschema:"maxLength=40" words:"Pump that raised it"`
	Alarm string `json:"alarm" jsonschema:"required,enum=leak,enum=blockage,enum=canister full,enum=battery low,enum=tilted,enum=pump fault,enum=not known" words:"What the alarm said"`
	// OffSince is when therapy stopped, if it did.
	OffSince    *time.Time `json:"off_since,omitempty" words:"Therapy off since"`
	SuctionMmHg *float64   `json:"suction_mmHg,omitempty" jsonschema:"minimum=0,maximum=400" unit:"mmHg" words:"Suction shown"`
	Settled     *bool      `json:"settled,omitempty" words:"Settled"`
	ReportedBy  string     `json:"reported_by,omitempty" jsonschema:"maxLength=120" words:"Reported by"`
	Note        string     `json:"note,omitempty" jsonschema:"maxLength=4000" words:"Note"`
}

// PowerNoted is the state of battery and therapy at a moment.
type PowerNoted struct {
	// Pump says which of several pumps it is about; in a visit also its suction, its seal test and its place.
	Pump       string   `json:"pump,omitempty" jsonschema:"maxLength=40" words:"Pump that it is about"`
	BatteryPct *float64 `json:"battery_pct,omitempty" jsonschema:"minimum=0,maximum=100" unit:"%" words:"Battery"`
	PluggedIn  *bool    `json:"plugged_in,omitempty" words:"Plugged in"`
	// Therapy is "on" or "off" from this moment on.
	Therapy string `json:"therapy,omitempty" jsonschema:"enum=on,enum=off" words:"Therapy"`
	// PlugInAt is when it is planned to be on mains again.
	PlugInAt *time.Time `json:"plug_in_at,omitempty" words:"To be plugged in again at"`
	Note     string     `json:"note,omitempty" jsonschema:"maxLength=4000" words:"Note"`
}

// SupplyMoved is what came to the patient, or went from there. With From it is what was taken from the agency's stock
// for this patient (Count above zero) or brought back to it (below); without, the agency's stock is not touched.
type SupplyMoved struct {
	Item  string `json:"item" jsonschema:"required,minLength=1,maxLength=80" words:"Item"`
	Count int    `json:"count" jsonschema:"required,minimum=-1000,maximum=1000" words:"How many (minus for used up here or taken back)"`
	// From is where it came from, or went back to: the shelf, or the car of the entry's author.
	From    string `json:"from,omitempty" jsonschema:"enum=shelf,enum=car" words:"Taken from, or back to"`
	Lot     string `json:"lot,omitempty" jsonschema:"maxLength=60" words:"Lot"`
	Expires string `json:"expires,omitempty" jsonschema:"format=date" words:"Use before"`
	Note    string `json:"note,omitempty" jsonschema:"maxLength=4000" words:"Note"`
}

// TherapyEnded closes the case's therapy.
type TherapyEnded struct {
	Why  string `json:"why" jsonschema:"required,enum=goal met,enum=contraindication,enum=no progress,enum=output low,enum=cannot keep seal,enum=pain,enum=patient's wish,enum=payer ended,enum=transferred,enum=died,enum=other" words:"Why"`
	By   string `json:"by,omitempty" jsonschema:"maxLength=120" words:"Decided by"`
	Next string `json:"next,omitempty" jsonschema:"maxLength=400" words:"What comes next"`
	Note string `json:"note,omitempty" jsonschema:"maxLength=4000" words:"Note"`
}

// Kind returns the kind of the entry.
func (OrderWritten) Kind() Kind { return KindOrderWritten }

func foldOrderWritten(f *Folding, l *Line, b OrderWritten) {
	f.endOrder(l)
	f.Orders = append(f.Orders, Order{Dated: dated(l, b)})
	f.Ended = nil
}

// Kind returns the kind of the entry.
func (OrderStopped) Kind() Kind { return KindOrderStopped }

func foldOrderStopped(f *Folding, l *Line, b OrderStopped) {
	f.endOrder(l)
}

// Kind returns the kind of the entry.
func (PumpAssigned) Kind() Kind { return KindPumpAssigned }

func foldPumpAssigned(f *Folding, l *Line, b PumpAssigned) {
	f.Pumps = append(f.Pumps, PumpUse{Assigned: dated(l, b)})
}

// Kind returns the kind of the entry.
func (PumpReturned) Kind() Kind { return KindPumpReturned }

func foldPumpReturned(f *Folding, l *Line, b PumpReturned) {
	for i := range f.Pumps {
		if f.Pumps[i].Assigned.Body.Pump == b.Pump && f.Pumps[i].Returned == nil {
			f.Pumps[i].Returned = datedP(l, b)
		}
	}
}

// Kind returns the kind of the entry.
func (CanisterRead) Kind() Kind { return KindCanisterRead }

func foldCanisterRead(f *Folding, l *Line, b CanisterRead) {
	add(&f.Canister, l, b)
}

// Kind returns the kind of the entry.
func (AlarmReported) Kind() Kind { return KindAlarmReported }

func foldAlarmReported(f *Folding, l *Line, b AlarmReported) {
	add(&f.Alarms, l, b)
}

// Kind returns the kind of the entry.
func (PowerNoted) Kind() Kind { return KindPowerNoted }

func foldPowerNoted(f *Folding, l *Line, b PowerNoted) {
	add(&f.Power, l, b)
}

// Kind returns the kind of the entry.
func (SupplyMoved) Kind() Kind { return KindSupplyMoved }

func foldSupplyMoved(f *Folding, l *Line, b SupplyMoved) {
	add(&f.Supplies, l, b)
}

// Kind returns the kind of the entry.
func (TherapyEnded) Kind() Kind { return KindTherapyEnded }

func foldTherapyEnded(f *Folding, l *Line, b TherapyEnded) {
	f.endOrder(l)
	f.Ended = datedP(l, b)
}

// endOrder ends the order in force.
func (f *Folding) endOrder(l *Line) {
	if o := f.Order(); o != nil {
		at := l.At
		o.EndedAt, o.EndedBy = &at, l.Entry.ID
	}
}
