package state

import "lowtide/casebook"

// What the entries say, for whoever shows it: a page or a paper reads it here, and opens no case. Nothing in it is later than
// the state's instant, and nobody may change it.

// Registered is who the patient is; nil when nobody wrote it.
func (s *State) Registered() *casebook.Dated[casebook.PersonRegistered] { return s.Case.Person }

// Order is the order in force, or nil; Orders are all, oldest first.
func (s *State) Order() *casebook.Order       { return s.Case.Order() }
func (s *State) Orders() []casebook.Order     { return s.Case.Orders }
func (s *State) PumpUses() []casebook.PumpUse { return s.Case.Pumps }

// WoundRecords are what was recorded of the wounds; WoundRecord is that of one, or nil.
func (s *State) WoundRecords() []casebook.Wound          { return s.Case.Wounds }
func (s *State) WoundRecord(name string) *casebook.Wound { return s.Case.Wound(name) }

// Visits are the dressing changes, oldest first.
func (s *State) Visits() []casebook.Dated[casebook.DressingChanged] { return s.Case.Changes }

// Readings are those of canisters, Alarms what was reported, Notes what was written beside them.
func (s *State) Readings() []casebook.Dated[casebook.CanisterRead] { return s.Case.Canister }
func (s *State) Alarms() []casebook.Dated[casebook.AlarmReported]  { return s.Case.Alarms }
func (s *State) Notes() []casebook.Dated[casebook.NoteWritten]     { return s.Case.Notes }

// Ended is how therapy ended; nil while it goes on.
func (s *State) Ended() *casebook.Dated[casebook.TherapyEnded] { return s.Case.Ended }

// PayerNoted is what was written of who pays; nil when nothing was.
func (s *State) PayerNoted() *casebook.Dated[casebook.PayerNoted] { return s.Case.Payer }

// Photo is a photo by its entry, or nil.
func (s *State) Photo(entry string) *casebook.Photo { return s.Case.Photo(entry) }

// Log has every entry, also those that were corrected or are not known.
func (s *State) Log() []casebook.Line { return s.Case.Log }
