package review

import "lowtide/state"

// payerEndOf reads the end from the payer's clock; s may be nil.
func payerEndOf(s *state.PayerStand) payerEnd {
	if s == nil || s.Policy == nil || !s.StartKnown || s.Clock.End.IsZero() {
		return payerEnd{}
	}
	return payerEnd{Known: true, At: s.StartOf(s.Clock.End), From: s.Policy.Name, Source: s.Policy.Source + "; " + state.PayerVerify}
}
