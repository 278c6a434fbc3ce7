package wording

import "lowtide/casebook"

func (s *sayer) payer(b casebook.PayerNoted) {
	s.Title = "Payer: " + b.Payer
	s.put("First day of this therapy", b.Start)
	s.put("At home with it since", b.HomeSince)
	s.list("The record documents", b.Documented)
	s.put("Note", b.Note)
}
