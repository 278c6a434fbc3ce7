// Package suction computes what the wound really gets: the pressure path from the pump over canister, tube and
// dressing to the wound bed, for an ordered program of package therapy.
//
// Two lumped gas volumes at one temperature hold the air: the canister's headspace and the dressing's void, each
// with half of the tube's gas. Between them lies the tube (laminar, compressible), behind the void the leak, in
// front of the headspace the pump with its on/off control and an optional vent. The equations are numbered in
// docs/model/suction.md; code that uses one names its number.
//
//	paper   Go               unit      meaning
//	p_a     AmbientMmHg      mmHg      pressure of the room
//	s_c     x[0]             mmHg      suction in the canister, depth below p_a
//	s_w     x[1]             mmHg      suction at the wound
//	V_c     CanisterNodeML   mL        headspace + half the tube
//	V_w     WoundNodeML      mL        void + half the tube
//	G       TubeMLSMmHg      mL/s/mmHg tube conductance
//	H       HeadMmHg         mmHg      liquid column and its viscous loss, positive when it weakens suction
//	Q_f     FreeFlowMLS      mL/s      pump's flow at no suction
//	s_d     DeepestMmHg      mmHg      suction at which the pump's flow is zero
//	S, b    order, BandMmHg  mmHg      ordered suction; width of the control band, centred on S
//	Q_r     LeakMLS          mL/s      leak at the reference suction s_r, exponent n
//	k_v     VentMLSMmHg      mL/s/mmHg vent conductance
//
// What it cannot do: it knows nothing of clots, kinks, a wet filter, a filler that collapses unevenly or skin
// that moves; its parameters are guesses about a class of equipment until somebody measures. It advises, it
// measures nothing. Sources: closed forms, ISO 2533, and an independent stiff solver; see testdata/ref.
package suction
