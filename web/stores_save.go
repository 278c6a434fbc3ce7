package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"lowtide/accesslog"
	"lowtide/casebook"
	"lowtide/state"
	"lowtide/stock"
	"lowtide/web/page"
)

// storeForm reads the fields of a small form and gathers what is wrong.
type storeForm struct {
	s        *Server
	form     url.Values
	problems []page.AskProblem
}

func (f *storeForm) wrong(text, remedy string) {
	f.problems = append(f.problems, page.AskProblem{Text: text, Remedy: remedy})
}

func (f *storeForm) text(name, label string, most int, needed bool) string {
	v := strings.TrimSpace(f.form.Get(name))
	switch {
	case v == "" && needed:
		f.wrong(label+" is missing.", "Fill it in.")
	case utf8.RuneCountInString(v) > most || !utf8.ValidString(v):
		f.wrong(fmt.Sprintf("%s is longer than %d characters.", label, most), "Shorten it.")
	}
	return v
}

func (f *storeForm) number(name, label string, least, most float64) float64 {
	v := strings.TrimSpace(f.form.Get(name))
	x, err := strconv.ParseFloat(strings.Replace(v, ",", ".", 1), 64)
	if err != nil || !(x >= least && x <= most) {
		f.wrong(fmt.Sprintf("%s %q is not a number from %g to %g.", label, v, least, most), "Type a number.")
	}
	return x
}

func (f *storeForm) count(least int) int {
	v := strings.TrimSpace(f.form.Get("count"))
	n, err := strconv.Atoi(v)
	if err != nil || n < least || n > 100000 {
		f.wrong(fmt.Sprintf("How many: %q is not a whole number from %d to 100000.", v, least), "Type a whole number.")
	}
	return n
}

func (f *storeForm) day(name string) string {
	v := strings.TrimSpace(f.form.Get(name))
	if _, err := time.Parse(time.DateOnly, v); v != "" && err != nil {
		f.wrong(fmt.Sprintf("Use before: %q is not a day.", v), "Write it as 2027-01-31.")
	}
	return v
}

func (f *storeForm) item(needed bool) string {
	v := f.text("item", "Item", 80, needed)
	if _, ok := f.s.Equipment.Item(v); v != "" && !ok {
		f.wrong(fmt.Sprintf("%q is not in the list of equipment.", v), "Choose an item of the list.")
	}
	id, _ := f.s.Equipment.ItemID(v)
	return id
}

func (f *storeForm) place(name, label string, outside bool) string {
	v := f.text(name, label, 80, true)
	if v != stock.Shelf && !(outside && v == stock.Outside) && !(strings.HasPrefix(v, "car ") && len(v) > 4) && v != "" {
		f.wrong(label+" is no place.", "Choose shelf, a car or outside.")
	}
	return v
}

// storeKinds read the forms of the Stores page.
var storeKinds = map[string]func(f *storeForm) casebook.Body{
	"/stores/moved": func(f *storeForm) casebook.Body {
		b := stock.Moved{Item: f.item(true), Count: f.count(1), From: f.place("from", "From", true), To: f.place("to", "To", true), Lot: f.text("lot", "Lot", 60, false), Expires: f.day("expires")}
		if b.From == b.To && b.From != "" {
			f.wrong("It went from a place to the same place.", "Choose two places.")
		}
		return b
	},
	"/stores/counted": func(f *storeForm) casebook.Body {
		return stock.Counted{Item: f.item(true), Count: f.count(0), Place: f.place("place", "Where", false), Lot: f.text("lot", "Lot", 60, false), Expires: f.day("expires")}
	},
	"/stores/recalled": func(f *storeForm) casebook.Body {
		return stock.Recalled{Item: f.item(false), Lot: f.text("lot", "Lot", 60, true), By: f.text("by", "Recalled by", 120, true), Note: f.text("note", "What they ask for", 1000, false), Lifted: f.form.Get("lifted") != ""}
	},
	"/stores/planned": func(f *storeForm) casebook.Body {
		return stock.Planned{LeadDays: f.number("lead_d", "Days from the order to the shelf", 0.1, 365), LeadSDDays: f.number("lead_sd_d", "Give or take days", 0, 100), ServicePct: f.number("service_pct", "Service level", 50, 99.99)}
	},
}

// saveStores writes one of the small forms into the stock's register.
func (s *Server) saveStores(r *Request) (Answer, error) {
	form, ps := r.form, r.broken
	f := &storeForm{s: s, form: form}
	for _, p := range ps {
		f.wrong(p.Message, p.Remedy)
	}
	body := storeKinds[r.URL.Path](f)
	if len(f.problems) > 0 {
		return s.renderStores(r, http.StatusUnprocessableEntity, f.problems, "")
	}
	if err := s.keepStock(r.Context(), s.author(r), func(*stock.Stock) []casebook.Body { return []casebook.Body{body} }); err != nil {
		return nil, err
	}
	return goTo("/stores?saved=1")
}

// keepStock appends what plan asks for to the stock's register; plan is asked again when somebody was faster.
func (s *Server) keepStock(ctx context.Context, author string, plan func(*stock.Stock) []casebook.Body) error {
	reg := casebook.Register{Book: s.Caseload.Book, ID: stock.Register}
	for try := 0; ; try++ {
		known, head, err := reg.Entries(ctx)
		if err != nil {
			return err
		}
		now := s.Now()
		var list []casebook.Entry
		for _, b := range plan(stock.Fold(known, nil)) {
			id, err := casebook.NewID(now, s.Random)
			if err != nil {
				return err
			}
			list = append(list, stock.NewEntry(id, now, author, b))
		}
		if len(list) == 0 {
			return nil
		}
		if _, err = reg.Append(ctx, head, list...); try < maxTries && errors.Is(err, casebook.ErrStale) {
			continue
		}
		return err
	}
}

// bagAhead is the day that is asked for: 0 is today.
func bagAhead(r *Request) int {
	ahead, _ := strconv.Atoi(r.URL.Query().Get("ahead"))
	if ahead < 0 || ahead >= len(page.BagDays) {
		return 0
	}
	return ahead
}

// showBag lists what to bring to the visits of a day.
func (s *Server) showBag(r *Request) (Answer, error) {
	ahead := bagAhead(r)
	ctx, cancel := context.WithTimeout(r.Context(), readingTime)
	defer cancel()
	now := s.Now().In(s.Zone)
	b, err := s.Caseload.Bag(ctx, now, ahead, func(p state.Person) bool { return s.onList(r.who, p) })
	if err != nil {
		return nil, err
	}
	st, err := s.Caseload.Stores(ctx, now, s.Zone)
	if err == nil {
		err = s.note(r, accesslog.Noted{What: accesslog.Listed})
	}
	if err != nil {
		return nil, err
	}
	p := page.NewBag(s.frame(r, page.BagDays[ahead], "Bag"), b, st, s.author(r), ahead, page.Clock{Zone: s.Zone, Now: now})
	if ahead == 0 {
		visits, err := s.Caseload.Used(ctx, now, s.author(r), func(p state.Person) bool { return s.onList(r.who, p) })
		if err != nil {
			return nil, err
		}
		p.SetUsed(visits, st, s.author(r), s.Equipment, now)
	}
	if s.PDF != nil {
		for _, size := range []string{"A4", "Letter"} {
			p.Files = append(p.Files, page.Link{Href: "/bag/pdf?size=" + size + "&ahead=" + strconv.Itoa(ahead), Words: "PDF, " + size})
		}
	}
	return show(http.StatusOK, page.BagOf(p))
}

// saveBag keeps what is ticked: one entry for each line that changed.
func (s *Server) saveBag(r *Request) (Answer, error) {
	form := r.form
	now := s.Now().In(s.Zone)
	day := form.Get("day")
	ahead := slices.IndexFunc([]int{0, 1}, func(n int) bool { return day == now.AddDate(0, 0, n).Format(time.DateOnly) })
	if ahead < 0 {
		return nil, refuse(http.StatusUnprocessableEntity, "This bag is of another day.", "Nothing was saved. Open the bag of today.")
	}
	author := s.author(r)
	err := s.keepStock(r.Context(), author, func(st *stock.Stock) []casebook.Body {
		var out []casebook.Body
		for _, i := range s.Equipment.Items {
			if in := slices.Contains(form["packed"], i.ID); in != st.Packed(author, day, i.ID) {
				out = append(out, stock.Packed{Day: day, Item: i.ID, Out: !in})
			}
		}
		return out
	})
	if err != nil {
		return nil, err
	}
	return goTo("/bag?ahead=" + strconv.Itoa(ahead))
}
