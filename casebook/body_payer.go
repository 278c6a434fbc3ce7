package casebook

// PayerNoted says who pays and what the record shows of what they ask for. A later one replaces an earlier one.
type PayerNoted struct {
	// Payer is the ID of a payer's policy in the rule set.
	Payer string `json:"payer" jsonschema:"required,minLength=1,maxLength=60" words:"Payer"`
	// Start is the first day of this therapy anywhere; without it the first entry of therapy counts.
	Start string `json:"start,omitempty" jsonschema:"format=date" words:"First day of this therapy, hospital included"`
	// HomeSince is the first day at home, when therapy began elsewhere.
	HomeSince string `json:"home_since,omitempty" jsonschema:"format=date" words:"At home with it since, if it began elsewhere"`
	// Documented lists the criteria of the policy that the record shows. One that is not listed counts as undocumented.
	Documented []string `json:"documented,omitempty" jsonschema:"maxItems=60" words:"The record documents"`
	Note       string   `json:"note,omitempty" jsonschema:"maxLength=4000" words:"Note"`
}

// Kind returns the kind of the entry.
func (PayerNoted) Kind() Kind { return KindPayerNoted }

func foldPayerNoted(f *Folding, l *Line, b PayerNoted) {
	f.Payer = datedP(l, b)
}
