package state

import "lowtide/trouble"

// The types below are those of the Call desk's model as a review carries them.
type (
	// CallModel is what the Call desk goes by; CallState is what is known in a call, CallAdvice what follows.
	CallModel  = trouble.Model
	CallState  = trouble.State
	CallAdvice = trouble.Advice
	// CallNext is the next thing to read out.
	CallNext = trouble.Next
	// CallTally counts ended calls.
	CallTally = trouble.Tally
)

// CallCareOf is the danger question that a step for the patient belongs to.
func CallCareOf(step string) (danger string, ok bool) { return trouble.CareOf(step) }

// BuiltInCalls is the model that the program brings.
func BuiltInCalls() *CallModel { return trouble.BuiltIn() }
