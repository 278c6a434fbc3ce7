package review

import "lowtide/casebook"

// payerEndOf reads the end from the payer's clock. No entry holds the payer yet; the clock is joined here and nowhere else.
func payerEndOf(c *casebook.Case) payerEnd { return payerEnd{} }
