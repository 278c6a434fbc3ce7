// Package aloud tests sentences: it knows forms that no nurse would say. Tests of pages, papers and commands ask it.
package aloud

import (
	"html"
	"regexp"
	"strings"
)

// form is a form of words that is banned, and what to write instead.
type form struct {
	re      *regexp.Regexp
	instead string
}

var banned = []form{
	{regexp.MustCompile(`(?:^|[^0-9.,:/×+–-]) ?\b1 (?:questions|stages|years|entries|rows|pieces|findings|days|hours|weeks|months|visits|changes|patients|pumps|canisters|sizes|readings|alarms|times|nurses|items|kits|cases|calls|photos|wounds|steps|answers|rules|people|criteria|conditions|strips|notes|logs|teams|nights|minutes|measurements|discharges|starts)\b`), "one of it is no plural: unit.Count"},
	{regexp.MustCompile(`(?i)\b(?:chance|likely|probability|probably)\b[^.;|]{0,60}?\d+(?:\.\d+)? ?%`), "say a chance in words: unit.Chance"},
	{regexp.MustCompile(`\d+(?:\.\d+)? ?%[^.;|]{0,20}\b(?:chance|probability)\b`), "say a chance in words: unit.Chance"},
	{regexp.MustCompile(`(?i)80 %[:)]|80 % (?:interval|band|error)|two times in three|standard error|\bquantile\b`), "say how sure in one way: unit.HowSure"},
	{regexp.MustCompile(`\bin \d{3,} days\b|\b\d{3,} days (?:from now|ahead|old)\b`), "say a date"},
	{regexp.MustCompile(`\b\d+\.\d{2,} ?(?:mmHg|mL|cm²|cm³|cm\b|mm\b|%|g\b|h\b|min\b|°C|years)`), "two decimals are more than is known: unit.Rough or one decimal"},
	{regexp.MustCompile(`\b\d{2,}\.\d+ ?%`), "tenths of a percent are more than is known"},
	{regexp.MustCompile(`\b\d{3,}\.\d+ (?:mL|mmHg)`), "tenths are more than is known: unit.Rough"},
	{regexp.MustCompile(`(?:^|[\s(])[-−]\d+(?:\.\d+)? ?%`), "say smaller or larger: unit.Fall"},
	{regexp.MustCompile(`\b\d+\.\d{2,} times as`), "say it in words: unit.Times"},
	{regexp.MustCompile(`(?i)\bwound wound\b|\bday \d+ days\b|\bthe the\b|\bof of\b|\bto to\b|\bis is\b|\bby by\b|\bin in\b|\bat at\b`), "a word stands twice"},
	{regexp.MustCompile(`\bwounds [A-Z](?:$|[.:;)]| (?:is|has|was|of|in|on)\b)`), "one wound is no plural"},
	{regexp.MustCompile(`[^\s|]  +[^\s|]`), "two spaces"},
	{regexp.MustCompile(`[^.]\.\.(?:[^.]|$)|,,|;\.|:\.|\( | \)|\(\)| [,;:](?: |$)`), "stops or brackets that do not belong"},
	{regexp.MustCompile(`\bby [A-Z][a-z]{2} \d+ [A-Z][a-z]{2}\b.*\bBy (?:\d\d:\d\d|tomorrow)`), "a day stands twice"},
	{regexp.MustCompile(`%!|\bNaN\b|<nil>|\bundefined\b`), "a programming word"},
	{regexp.MustCompile(`\bborn \d{4}-\d\d-\d\d|\bsince \d{4}-\d\d-\d\d|\bon \d{4}-\d\d-\d\d`), "say a date as 4 March 2026: wording.Date"},
	{regexp.MustCompile(`(?i)Find out and record: visit\b|tells of [\d.]+ % of its time`), "that is no English"},
}

// Wrong says what is wrong with a line of text, with what to write instead; empty when nothing is.
func Wrong(line string) string {
	for _, f := range banned {
		if m := f.re.FindString(line); m != "" {
			return "“" + strings.TrimSpace(m) + "”: " + f.instead
		}
	}
	return ""
}

var (
	// exact is what stands one tap away: figures in full, how they came about, sources.
	exact  = regexp.MustCompile(`(?s)<details[^>]*>\s*<summary>(?:Why|How|What the span|The numbers|Numbers).*?</details>`)
	unread = regexp.MustCompile(`(?s)<(script|style|head|datalist|select|textarea)\b.*?</(script|style|head|datalist|select|textarea)>|<!--.*?-->`)
	breaks = regexp.MustCompile(`</?(main|header|footer|nav|section|article|div|p|h\d|li|ul|ol|dl|dt|dd|table|tr|caption|figure|figcaption|form|fieldset|legend|label|button|summary|details|text|title|desc|svg|option|br|a)\b[^>]*>`)
	cells  = regexp.MustCompile(`(?:</?(?:td|th)\b[^>]*>)+`)
	tag    = regexp.MustCompile(`<[^>]*>`)
)

// Lines are what a page says, one line a block of its text, without what stands behind Why and How.
func Lines(page string) []string {
	text := exact.ReplaceAllString(unread.ReplaceAllString(page, "\n"), "\n")
	text = cells.ReplaceAllString(breaks.ReplaceAllString(text, "\n"), " | ")
	text = html.UnescapeString(tag.ReplaceAllString(text, ""))
	var out []string
	for _, l := range strings.Split(text, "\n") {
		l = strings.Join(strings.Fields(l), " ") // as a browser does
		if l = strings.Trim(l, " |\t"); l != "" {
			out = append(out, l)
		}
	}
	return out
}
