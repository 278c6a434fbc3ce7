package casebook

import "testing"

// TestClotDrugIn: a name counts at the start of a word, in any case; the first one in the text is told.
func TestClotDrugIn(t *testing.T) {
	for text, want := range map[string]string{
		"GP started apixaban 5 mg bd for new AF on 7 March.": "apixaban",
		"Apixaban5mg":                       "apixaban",
		"on a blood thinner now":            "blood thinner",
		"warfarin stopped, heparin instead": "warfarin",
		"heparins":                          "heparins",
		"xheparin":                          "",
		"nothing new":                       "",
		"":                                  "",
		"éapixaban, \xffapixaban":           "apixaban",
		"Desde ayer rivaroxabán 20 mg":      "rivaroxabán",
		"rivaroxaba\u0301n":                 "rivaroxaba\u0301n",
		"nimmt Blutverdünner":               "blutverdünner",
		"ácido acetilsalicílico 100":        "acetilsalicílico",
		"tomó ANTICOAGULANTES":              "anticoagulantes",
		"sous héparine":                     "héparine",
		"seit gestern Phenprocoumon":        "phenprocoumon",
		"no thinning of the edge":           "",
	} {
		if got := ClotDrugIn(text); got != want {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
}
