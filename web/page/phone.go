package page

// PhonePage is the page about the phone in one's hand.
type PhonePage struct {
	Frame
	// Again is a form that was sent while the list was locked, to be sent again when it is open.
	Again *SendAgain
}
