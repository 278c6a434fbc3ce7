package wording

import "lowtide/casebook"

// StartStep says what a step of the start of a therapy asks for; the kind is the entry that says that it is done.
func StartStep(kind casebook.Kind) string {
	switch kind {
	case casebook.KindScreeningDone:
		return "Answer the screening: may this patient have the therapy?"
	case casebook.KindOrderWritten:
		return "Write down what the prescriber ordered."
	case casebook.KindPumpAssigned:
		return "Write down which pump goes to the patient."
	case casebook.KindTeachingGiven:
		return "Explain alarms, leaks and bleeding, and write down to whom."
	case casebook.KindPersonRegistered:
		return "Write down whom to call, with telephone numbers."
	case casebook.KindDressingChanged:
		return "Write the first visit."
	case casebook.KindWoundMeasured:
		return "Measure the wound."
	}
	return Kind(kind)
}
