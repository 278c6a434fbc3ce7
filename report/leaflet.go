package report

import (
	"fmt"
	"math"
	"strings"

	"lowtide/casebook"
	"lowtide/unit"
)

// LeafletLanguages are the languages that a leaflet can be had in, by BCP 47 tag.
var LeafletLanguages = []string{"en", "es"}

// leafletOrder is the order of the parts of a leaflet; each part is a heading and its points.
var leafletOrder = []struct {
	heading string
	points  []string
}{
	{"stays", []string{"stays.off", "stays.ask"}},
	{"what", []string{"what.pulls", "what.runs", "what.shower", "what.pieces"}},
	{"now", []string{"now.blood", "now.breath", "now.fever", "now.pain", "now.skin"}},
	{"day", []string{"day.film", "day.tube", "day.can", "day.power", "day.low"}},
	{"alarms", []string{"alarm.leak", "alarm.block", "alarm.full", "alarm.battery", "alarm.tilt", "alarm.other"}},
	{"off", []string{"off.clock", "off.call", "off.nurse"}},
	{"not", []string{"not.open", "not.set", "not.water", "not.scan"}},
}

// Leaflet is the patient's leaflet in large print, in a language of [LeafletLanguages]. limitH is the local limit for a
// pump that is off, hours. It tells nothing of the patient but her name, her pump's stages and whom to call.
func Leaflet(in Input, lang string, limitH float64) (*Paper, error) {
	words, ok := leafletWords[lang]
	if !ok {
		return nil, fmt.Errorf("there is no leaflet in %q; there is one in %s", lang, strings.Join(LeafletLanguages, ", "))
	}
	p := in.start("leaflet", words["title"])
	p.Lang, p.Large, p.Caution, p.PageOf = lang, true, words["caution"], [2]string{words["page"], words["of"]}
	p.Time = in.date(in.Review.AsOf)
	// no birth date and no number on a paper that lies about at home
	p.Who = p.Who[:1]
	p.Pages = 2
	fill := strings.NewReplacer("{limit}", leafletHours(words, limitH))
	stays := in.Review.Asks("leave-suction-off") || in.Review.Asks("no-start") || in.Review.Asks("dressing-off")
	for i, part := range leafletOrder {
		if i == leafletCalls {
			p.calls(in, words)
		}
		if stays && leafletRuns[part.heading] || !stays && part.heading == "stays" {
			continue
		}
		p.add(Heading{words[part.heading]})
		var points []string
		for _, k := range part.points {
			if stays && leafletRuns[k] {
				continue
			}
			points = append(points, fill.Replace(words[k]))
		}
		p.add(List{Items: points})
	}
	if o := in.state().Order(); o != nil && len(o.Body.Stages) > 0 {
		p.add(Heading{words["set"]}, Para{Text: leafletStages(words, o.Body.Stages)})
	}
	return p, nil
}

// leafletRuns are the parts and points that are about a pump that is to run. They are left out while the plan says that it
// is not to be switched on.
var leafletRuns = map[string]bool{"what.runs": true, "day": true, "alarms": true, "off": true}

// leafletCalls is the part before which stands whom to call: behind what to call for.
const leafletCalls = 3

// calls lists whom to call, with lines for the numbers that only people there know.
func (p *Paper) calls(in Input, words map[string]string) {
	p.add(Heading{words["call"]})
	if in.state().Registered() != nil {
		for _, c := range in.state().Registered().Body.Contacts {
			p.pairs(Pair{words["role."+c.Role], strings.TrimSpace(c.Name + " " + c.Phone)})
		}
	}
	p.pairs(Pair{words["role.emergency"], "____________________"}, Pair{words["role.ours"], "____________________"})
}

// leafletHours says a number of hours. It is a limit: what is not whole is never rounded up.
func leafletHours(words map[string]string, h float64) string {
	text := strings.Replace(unit.Number(math.Floor(h*10+1e-9)/10, 1), ".", words["point"], 1)
	if text == "1" {
		return text + " " + words["hour"]
	}
	return text + " " + words["hours"]
}

func leafletStages(words map[string]string, list []casebook.Stage) string {
	var out []string
	for _, s := range list {
		one := unit.Number(s.SuctionMmHg, 0) + " mmHg"
		if len(list) > 1 && s.HoldMin != nil {
			one += " (" + unit.Number(*s.HoldMin, 1) + " min)"
		}
		out = append(out, one)
	}
	return strings.Join(out, ", ") + ". " + words["set.change"]
}

// LeafletText is the running text of a leaflet, one sentence after another, for measuring how hard it is to read.
func LeafletText(lang string) string {
	var out []string
	for _, part := range leafletOrder {
		for _, k := range part.points {
			out = append(out, leafletWords[lang][k])
		}
	}
	return strings.Join(out, " ")
}
