package review

// payerEndOf reads the end from the payer's clock; s may be nil.
func payerEndOf(s *PayerStand) payerEnd {
	if s == nil || s.Policy == nil || !s.StartKnown || s.Clock.End.IsZero() {
		return payerEnd{}
	}
	return payerEnd{Known: true, At: s.startOf(s.Clock.End), From: s.Policy.Name, Source: s.Policy.Source + "; " + PayerVerify}
}
