package casebook

import "testing"

// TestClotDrugIn: a name counts at the start of a word, in any case; the first one in the text is told.
func TestClotDrugIn(t *testing.T) {
	for text, want := range map[string]string{
		"GP started apixaban 5 mg bd for new AF on 7 March.": "apixaban",
		"Apixaban5mg":                       "apixaban",
		"on a blood thinner now":            "blood thinner",
		"warfarin stopped, heparin instead": "warfarin",
		"heparins":                          "heparin",
		"xheparin":                          "",
		"nothing new":                       "",
		"":                                  "",
		"éapixaban, \xffapixaban":           "apixaban",
	} {
		if got := ClotDrugIn(text); got != want {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
}
