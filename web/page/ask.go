package page

import (
	"strings"

	"github.com/a-h/templ"
)

// Ask is a page about accounts: sentences, facts, tables and small forms. Pages about patients are FormPage.
type Ask struct {
	Frame
	Heading  string
	Lead     []string
	Problems []AskProblem
	Facts    []Part
	Tables   []AskTable
	Forms    []AskForm
	Links    []Link
	// Next is where one goes on; nil when nothing follows.
	Next *Link
}

// AskProblem is something that is wrong; Field is the name of its field, or empty.
type AskProblem struct{ Field, Text, Remedy string }

// AskTable is a table whose first cell of a row names it.
type AskTable struct {
	Caption string
	Head    []string
	Rows    [][]AskCell
	// Empty is said when there is no row.
	Empty string
}

// AskCell is a cell, with a link or without.
type AskCell struct{ Text, Href string }

// AskForm is one small form.
type AskForm struct {
	Title  string
	Lead   []string
	Action string
	// Get forms only choose what is shown.
	Get    bool
	Fields []AskField
	Submit string
	Quiet  bool
	// Passkey is "get" or "create" for a form that the script sends after asking the device.
	Passkey string
}

// AskField is one field.
type AskField struct {
	Name, Label, Hint, Value string
	// Type is that of the input: text, password, date, hidden, or "lines", "ticks", "choice", "select".
	Type string
	// In tells fields of the same name in several forms of one page apart.
	In string
	// Complete is the autocomplete word that password managers go by.
	Complete string
	Keypad   string
	Options  []Option
	Needed   bool
	Problem  string
}

// ID is the element's ID.
func (f AskField) ID() string { return "f-" + f.In + f.Name }

// Scripted tells whether a form needs the script for passkeys.
func (p Ask) Scripted() bool {
	for _, f := range p.Forms {
		if f.Passkey != "" {
			return true
		}
	}
	return false
}

// askDescribed are the attributes that join a field to its hint and its problem.
func askDescribed(f AskField) templ.Attributes {
	a, ids := templ.Attributes{}, ""
	if f.Hint != "" {
		ids = f.ID() + "-hint"
	}
	if f.Problem != "" {
		ids += " " + f.ID() + "-wrong"
		a["aria-invalid"] = "true"
	}
	if ids != "" {
		a["aria-describedby"] = strings.TrimSpace(ids)
	}
	return a
}
