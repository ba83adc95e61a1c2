package pages

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/drawing"
	"telltale/cmd/internal/words"
	"telltale/engine/chances"
	"telltale/engine/figures"
	"telltale/engine/lives"
	"telltale/engine/upkeep"
	"telltale/engine/wear"
	"telltale/evidence"
	"telltale/rules"
)

// Pump is what is known of one pump over its hours: what is due, which jobs are open,
// how it wears, how long its parts last, and what troubled it.
func Pump(r *upkeep.Report, book *rules.Book) *doc.Document {
	d := &doc.Document{Title: r.Title, Lines: meterLines(r)}
	d.Add(openJobs(r, book), dueOn(r), wearing(r), lasting(r), comesBack(r), troublesSoFar(r))
	d.Add(doc.Section{Heading: "What is wanted for more", Parts: []doc.Part{doc.List(r.Missing...)}})
	d.Add(notes(doc.Said(
		"Hours are those of the pump's whole life, over all its meters. A range holds 95 times in 100 by what was read.",
		doc.If(len(r.Lives) > 0, livesFoot),
		"The pump's manual and the site's plan come first. Isolate by the site's procedure before anything is opened.",
	)...))
	return d
}

func meterLines(r *upkeep.Report) []string {
	out := []string{words.Pump(string(r.Action)) + fmt.Sprintf(". Jobs: %d, open: %d.", r.Jobs, len(r.Open))}
	if r.AsOf != nil {
		line := fmt.Sprintf("Meter: %.0f h on %s", r.AsOf.Hours, r.AsOf.Date)
		if r.PerDay != nil {
			line += fmt.Sprintf(", some %s h a day", words.Figure(r.PerDay.Hours, r.PerDay.U, 1))
		}
		out = append(out, line+".")
	}
	return out
}

// openJobs are the jobs that are not closed, with what stands open or locked.
func openJobs(r *upkeep.Report, book *rules.Book) doc.Section {
	s := doc.Section{Heading: "Open jobs"}
	for _, j := range r.Open {
		part := doc.Part{Head: fmt.Sprintf("%s, since %s: %s", filepath.Base(j.File), j.Date, j.State), To: []doc.Ref{job(j.File, "")}, Whole: true}
		for _, stop := range j.Stops {
			part.Items = append(part.Items, doc.Item{Strong: "STOP CONDITION: " + book.Stops.Get(stop).Title + "."})
		}
		part.Items = append(part.Items, doc.Only([]doc.Item{
			{Text: doc.If(j.Wait != "", "How long it can wait: "+waitTitle(book, j.Wait)+".")},
			{Text: doc.If(j.Closed != "", "Closed, but not over by its file. Open it again: telltale note "+j.File+" open-again.")},
			allNamed("Proved: ", "cause", j.Proved...), likeliest(j), allNamed("Open: ", "opening", j.Opened...),
			allNamed("Closed again, its way back to service not gone to its end: ", "opening", j.Owed...), {Text: doc.If(len(j.Locks) > 0, "Locks on: "+strings.Join(j.Locks, "; ")+".")},
			{Text: doc.If(len(j.Left) > 0, "Stays open: "+strings.Join(j.Left, "; ")+".")},
		}, func(i doc.Item) bool { return i.Text != "" })...)
		s.Parts = append(s.Parts, part)
	}
	if len(r.Open) == 0 {
		s.Parts = append(s.Parts, doc.Text("None."))
	}
	return s
}

// job is what names a job by the words; by its file where there are none.
func job(file, by string) doc.Ref { return titled("job", filepath.Base(file), by) }

func likeliest(j upkeep.OpenJob) doc.Item {
	if j.Likely == nil || len(j.Proved) > 0 {
		return doc.Item{}
	}
	return allNamed("Likeliest: ", "cause", *j.Likely)
}

// waitTitle is a wait in words.
func waitTitle(book *rules.Book, wait string) string {
	if wait == chances.WellFirst {
		return strings.ToLower(book.Hurry.WellFirst.Title)
	}
	return strings.ToLower(book.Hurry.Of(rules.Wait(wait)).Title)
}

// allNamed is a line of entries of a kind; empty if there are none.
func allNamed(words, kind string, all ...upkeep.Named) doc.Item {
	if len(all) == 0 {
		return doc.Item{}
	}
	line := lead(words, namesOf(kind, all...))
	line.Text += "."
	return line
}

// namesOf is entries of a kind, each at its place.
func namesOf(kind string, all ...upkeep.Named) doc.Item {
	return oneLine("; ", doc.Each(all, func(n upkeep.Named) doc.Item { return of(words.Titled(n.Title, n.Place), kind, n.ID, n.Title) })...)
}

// dueOn is what falls due on a pump: what is overdue, what comes next, and the rest.
func dueOn(r *upkeep.Report) doc.Section {
	var overdue, next, later []doc.Item
	for _, d := range r.Due {
		item := doc.Item{Text: words.Titled(d.Title, d.Place) + ": " + dueWhen(d) + ".", Below: doc.Items(doc.Said(d.Do, "Because: "+d.Because+".")...)}
		switch {
		case d.Overdue:
			overdue = append(overdue, item)
		case d.Soon(r):
			next = append(next, item)
		default:
			item.Below = nil
			later = append(later, item)
		}
	}
	s := doc.Section{Heading: "What falls due", Parts: []doc.Part{
		{Head: "Overdue", Items: overdue}, {Head: fmt.Sprintf("In the next %.0f h", r.Ahead), Items: next}, {Head: "Later", Items: later},
	}}
	if len(r.Due) == 0 {
		s.Parts = append(s.Parts, doc.Text("Nothing that the jobs tell of."))
	}
	if r.Past > 0 {
		s.Parts = append(s.Parts, doc.Text(fmt.Sprintf("Looks after repairs of long ago that nobody noted: %d. They are not named one by one.", r.Past)))
	}
	return s
}

// dueWhen says when something is due, in hours and dates.
func dueWhen(d upkeep.Due) string {
	if d.Hours == (wear.Due{}) {
		switch {
		case d.Days.Middle == "":
			return "now"
		case d.Overdue:
			return "was good until " + d.Days.Middle
		}
		return "good until " + d.Days.Middle
	}
	var out string
	switch from, middle, to := d.Hours.From, d.Hours.Middle, d.Hours.To; {
	case middle == nil:
		out = fmt.Sprintf("at %.0f h at the earliest, perhaps never", *from)
	case from == nil:
		out = fmt.Sprintf("at %.0f h", *middle)
	case to == nil:
		out = fmt.Sprintf("at some %.0f h, %.0f h at the earliest, perhaps never", *middle, *from)
	default:
		out = fmt.Sprintf("at some %.0f h (%.0f to %.0f h)", *middle, *from, *to)
	}
	if d.Left != nil && *d.Left < 0 {
		out += fmt.Sprintf(", %.0f h ago", -*d.Left)
	} else if d.Left != nil {
		out += fmt.Sprintf(", %.0f h from now", *d.Left)
	}
	switch {
	case d.Overdue, d.Days.Middle == "":
	case d.Days.To == "" && d.Hours.From != nil:
		out += fmt.Sprintf(", about %s, %s at the earliest", d.Days.Middle, d.Days.From)
	case d.Days.From != d.Days.To:
		out += fmt.Sprintf(", about %s (%s to %s)", d.Days.Middle, d.Days.From, d.Days.To)
	default:
		out += ", about " + d.Days.Middle
	}
	return out
}

// wearing is how what was measured wears, with a picture each.
func wearing(r *upkeep.Report) doc.Section {
	s := doc.Section{Heading: "How it wears"}
	var few []string
	for i := range r.Trends {
		t := &r.Trends[i]
		if len(t.Band) == 0 {
			few = append(few, words.Titled(t.Title, t.Place)+": "+strings.Join(append(wearSays(t), lastRead(t)), " "))
			continue
		}
		f := wearFigure(t, r.AsOf.Hours)
		s.Parts = append(s.Parts, doc.Part{Head: words.Titled(t.Title, t.Place), Text: wearSays(t), Figure: &f, With: true}, doc.Part{Table: readingsOf(t), Whole: true})
	}
	s.Parts = append(s.Parts, doc.List(few...))
	return s
}

// lastRead is the last reading of a trend.
func lastRead(t *upkeep.Trend) string {
	read := t.Readings[len(t.Readings)-1]
	return fmt.Sprintf("Last read at %.0f h, %s: %s.", read.Hours, read.Date, words.InThou.Say(figures.Length{Mean: read.Metres, U: read.U}))
}

// readingsOf is the table of the readings that count.
func readingsOf(t *upkeep.Trend) *doc.Table {
	g := &doc.Table{Head: []string{"Date", "Hours", words.InThou.Head(), ""}}
	for _, read := range t.Readings {
		if read.Series == t.Last {
			remark := doc.If(read.Again, "after the repair") + doc.If(read.Misread > 0.5, "rather misread")
			g.Rows = append(g.Rows, doc.Cells(read.Date, fmt.Sprintf("%.0f", read.Hours), words.InThou.Cell(&figures.Length{Mean: read.Metres, U: read.U}), remark))
		}
	}
	return g
}

// wearSays says in sentences how a length wears.
func wearSays(t *upkeep.Trend) []string {
	var out []string
	switch t.Fit.Outcome {
	case wear.TooFew, wear.NotMeasured:
		out = append(out, doc.If(t.Fit.Outcome == wear.TooFew, "Too few readings to tell how it wears.")+doc.If(t.Fit.Outcome == wear.NotMeasured, "Not read since the last repair."))
	default:
		rate := t.Fit.Rate
		if rate.Middle > 0 {
			out = append(out, fmt.Sprintf("It wears by %s in 1000 h (%s to %s thou).", thou(rate.Middle, rate), figureThou(rate.Low, rate), figureThou(rate.High, rate)))
		} else {
			out = append(out, "It is not shown to wear.")
		}
		out = append(out, "Now: "+thou(t.Fit.Level.Middle, t.Fit.Level)+fmt.Sprintf(" (%s to %s thou). Limit: %s.", figureThou(t.Fit.Level.Low, t.Fit.Level), figureThou(t.Fit.Level.High, t.Fit.Level), t.LimitIs))
		if t.Fit.Outcome == wear.Past {
			out = append(out, "It is probably past the limit ("+words.Likely(t.Fit.Past)+").")
		}
		if t.Fit.Due.From != nil {
			out = append(out, "It reaches the limit "+dueWhen(upkeep.Due{Hours: t.Fit.Due, Days: t.Days})+".")
		} else {
			out = append(out, "By these readings it does not reach the limit.")
		}
	}
	if t.Fit.Next != nil {
		out = append(out, fmt.Sprintf("Take the next reading at about %.0f h.", *t.Fit.Next))
	}
	for _, read := range t.Readings {
		if read.Misread > 0.5 {
			out = append(out, fmt.Sprintf("The reading of %s at %.0f h is rather a misreading (%s).", read.Date, read.Hours, words.Likely(read.Misread)))
		}
	}
	if t.Room != nil {
		out = append(out, fmt.Sprintf("Under the guide lie %s of shims put in on these jobs, of %s at most.", thouOf(t.Room.Used), thouOf(t.Room.Most)))
	}
	return out
}

// interval is what a figure of a trend may be off, as a standard uncertainty: its 95 %
// are some four of them.
func interval(e wear.Estimate) float64 { return (e.High - e.Low) / 4 }

func thou(metres float64, e wear.Estimate) string {
	return words.InThou.Say(figures.Length{Mean: metres, U: interval(e)})
}

func figureThou(metres float64, e wear.Estimate) string {
	return words.Figure(metres/words.MetresPerThou, interval(e)/words.MetresPerThou, 1)
}

func thouOf(metres float64) string {
	return words.InThou.Say(figures.Length{Mean: metres, U: words.MetresPerThou / 2})
}

// wearFigure draws a trend in thou.
func wearFigure(t *upkeep.Trend, now float64) doc.Figure {
	in := func(metres float64) float64 { return metres / words.MetresPerThou }
	w := drawing.Wear{
		Name: "wear-" + t.ID + "-" + strings.ReplaceAll(t.Place.String(), " ", "-"), Title: words.Titled(t.Title, t.Place), Unit: "thou",
		Limit: in(t.Limit), LimitIs: "limit " + words.Figure(in(t.Limit), 0.5, 1) + " thou", Now: now,
	}
	for _, read := range t.Readings {
		if read.Series == t.Last {
			w.Readings = append(w.Readings, drawing.WearReading{Hours: read.Hours, Value: in(read.Metres), U: in(read.U), Run: read.Run, Misread: read.Misread > 0.5})
		}
	}
	for _, p := range t.Band {
		w.Band = append(w.Band, drawing.WearPoint{Hours: p.Hours, Low: in(p.Low), Middle: in(p.Middle), High: in(p.High)})
	}
	w.Says = []string{"The readings stand in the table."}
	f := w.Draw()
	f.Told = true
	return f
}

// lasting is how long the parts last: all in one table, then what more is known of
// those of which enough failed.
func lasting(r *upkeep.Report) doc.Section {
	t := &doc.Table{Head: []string{"Part", "Changes", "Failed", "Half failed by, h", "1 in 10 by, h", "Oldest in now, h"}}
	s := doc.Section{Heading: "How long parts last", Parts: []doc.Part{{Table: t}}}
	for i := range r.Lives {
		l := &r.Lives[i]
		told := false
		for _, e := range l.Ends {
			half, tenth, title := "too few", "too few", l.Title
			if e.Fit != nil {
				half, tenth, told = rangeOf(e.Fit.Median), rangeOf(e.Fit.Tenth), true
			}
			if len(e.Places) > 0 {
				title += ", " + doc.If(e.Others, "others than ") + words.Places(e.Places, "")
			}
			t.Rows = append(t.Rows, doc.Cells(title, fmt.Sprint(l.Part.Changes), fmt.Sprint(e.Failed), half, tenth, oldest(l)))
		}
		if !told {
			continue
		}
		head := record(&l.Part)
		head.Parts[0].Head = l.Title
		s.Parts = append(s.Parts, head.Parts...)
		s.Parts = append(s.Parts, doc.List(append(inNow(l), changeAt(l)...)...))
	}
	return s
}

// rangeOf is an estimate with its limits.
func rangeOf(e lives.Estimate) string {
	if e.High == nil {
		return words.Significant(e.Value, 2) + " (" + words.Significant(e.Low, 2) + " at least)"
	}
	return fmt.Sprintf("%s (%s to %s)", words.Significant(e.Value, 2), words.Significant(e.Low, 2), words.Significant(*e.High, 2))
}

// oldest is the age of the oldest part that is in.
func oldest(l *upkeep.Life) string {
	most, known := 0.0, true
	for _, in := range l.InNow {
		if in.Age > most {
			most, known = in.Age, in.Known
		}
	}
	return doc.If(!known, "at least ") + fmt.Sprintf("%.0f", most)
}

func inNow(l *upkeep.Life) []string {
	var out []string
	for _, in := range l.InNow {
		line := fmt.Sprintf("In now%s: %.0f h", doc.If(in.Place.Cylinder != "", ", "+words.Place(in.Place)), in.Age)
		if !in.Known {
			line = fmt.Sprintf("In now%s: at least %.0f h", doc.If(in.Place.Cylinder != "", ", "+words.Place(in.Place)), in.Age)
		}
		if in.DueAge != nil {
			line += fmt.Sprintf("; due at an age of some %.0f h", in.DueAge.Value)
		}
		out = append(out, line+".")
	}
	return out
}

// changeAt says at which age a part is best changed before it fails.
func changeAt(l *upkeep.Life) []string {
	var out []string
	for i, c := range l.Changes {
		where := ""
		if e := l.Ends[i]; len(e.Places) > 0 {
			where = " (" + doc.If(e.Others, "the others than ") + words.Places(e.Places, "") + ")"
		}
		line := "Change before failure" + where + ": " + string(c.Says) + "."
		if c.Says == lives.ChangeAtAge {
			line = fmt.Sprintf("Change before failure%s at some %.0f h%s; it saves some %.0f %% of the cost.", where, c.Age.Value, limitsOf(c.Age), 100*c.Saves.Value)
		}
		out = append(out, line)
	}
	return out
}

func limitsOf(e *lives.Estimate) string {
	if e.High == nil {
		return fmt.Sprintf(" (%.0f h at least)", e.Low)
	}
	return fmt.Sprintf(" (%.0f to %.0f h)", e.Low, *e.High)
}

// comesBack is what failed more than once at the same place.
func comesBack(r *upkeep.Report) doc.Section {
	return doc.Section{Heading: "What comes back", Parts: []doc.Part{{Items: doc.Each(r.Again, func(a upkeep.Again) doc.Item {
		out := namesOf("cause", a.Named)
		out.Text += fmt.Sprintf(": %d times (%s)", len(a.Times), strings.Join(a.Times, ", "))
		if len(a.Hours) > 0 {
			out.Text += ", " + strings.Join(doc.Each(a.Hours, func(h float64) string { return fmt.Sprintf("%.0f", h) }), ", ") + " h between"
		}
		if a.Root != nil {
			return oneLine(". ", out, allNamed("Brought on by: ", "cause", *a.Root))
		}
		out.Text += ". Nobody has found what brings it on."
		return out
	})}}}
}

// troublesSoFar is what the jobs proved or judged, the youngest first.
func troublesSoFar(r *upkeep.Report) doc.Section {
	t := &doc.Table{Head: []string{"Date", "Hours", "What failed", "Brought on by"}, Flow: true}
	for _, x := range r.Troubles {
		hours := "-"
		if x.Hours != nil {
			hours = fmt.Sprintf("%.0f", *x.Hours)
		}
		failed, roots := namesOf("cause", x.Failed), namesOf("cause", x.Roots...)
		failed.Text += doc.If(x.Judged, " ("+notProved+")")
		t.Rows = append(t.Rows, []doc.Cell{{Text: x.Date, To: []doc.Ref{job(x.Job, x.Date)}}, {Text: hours}, {Text: failed.Text, To: failed.To}, {Text: roots.Text, To: roots.To}})
	}
	return doc.Section{Heading: "Troubles so far", Parts: []doc.Part{{Table: t}}}
}

// Rig is what is known of all pumps of a rig, the worst first.
func Rig(r *upkeep.Rig, book *rules.Book) *doc.Document {
	d := &doc.Document{Title: "Pumps of " + filepath.Base(r.Dir), Lines: []string{"On " + r.Day + ". The worst first."}}
	if len(r.Unread) > 0 {
		d.Lines = append(d.Lines, fmt.Sprintf("Files that cannot be used: %d, named at the end. By them a pump may be isolated, open or stopped; it is not counted here.", len(r.Unread)))
	}
	t := &doc.Table{Head: []string{"Pump", "Now", "Open jobs", "Overdue", "Next due"}}
	for _, p := range r.Pumps {
		next := "-"
		for _, due := range p.Due {
			if !due.Overdue && due.Left != nil {
				next = words.Titled(due.Title, due.Place) + fmt.Sprintf(", in %.0f h", *due.Left)
				break
			}
		}
		row := doc.Cells(p.Title, pumpNow(p, book), fmt.Sprint(len(p.Open)), fmt.Sprint(p.Overdue()), next)
		row[0].To = []doc.Ref{titled("pump", p.Pump, p.Title)}
		t.Rows = append(t.Rows, row)
	}
	d.Add(doc.Section{Heading: "Pumps", Parts: []doc.Part{{Table: t}}})
	for _, p := range r.Pumps {
		open, due := openJobs(p, book), dueOn(p)
		s := doc.Section{Heading: p.Title}
		if len(p.Open) > 0 {
			s.Parts = append(s.Parts, open.Parts...)
		}
		for _, part := range due.Parts {
			if part.Head != "Later" {
				s.Parts = append(s.Parts, part)
			}
		}
		d.Add(s)
	}
	d.Add(filesUnread(r.Unread))
	return d
}

// pumpNow says how the worst of a pump's open jobs stands; where they disagree, which of
// them says what.
func pumpNow(r *upkeep.Report, book *rules.Book) string {
	if disagree(r.Open) {
		says := doc.Each(r.Open, func(j upkeep.OpenJob) string {
			return strings.TrimSuffix(filepath.Base(j.File), ".yaml") + ": " + standsBy(j)
		})
		stopped := slices.ContainsFunc(r.Open, func(j upkeep.OpenJob) bool { return len(j.Stops) > 0 })
		return doc.If(stopped, "STOP CONDITION. ") + "Jobs disagree. " + strings.Join(says, "; ")
	}
	for _, j := range r.Open {
		if len(j.Stops) > 0 {
			return "STOP CONDITION, " + standsBy(j)
		}
	}
	for _, j := range r.Open {
		if j.Wait != "" {
			return standsBy(j) + "; " + waitTitle(book, j.Wait)
		}
	}
	return doc.If(len(r.Open) == 0, "no open job")
}

// disagree says whether jobs say differently how their pump stands.
func disagree(open []upkeep.OpenJob) bool {
	return len(open) > 1 && slices.ContainsFunc(open, func(j upkeep.OpenJob) bool { return j.State != open[0].State || j.Standing() })
}

// standsBy is how a pump stands by a job, in short.
func standsBy(j upkeep.OpenJob) string {
	switch {
	case j.Closed != "":
		return "closed, but not over by its file"
	case j.State == string(evidence.Isolated) && j.Standing():
		return j.State + ", something open or locked"
	case j.Standing():
		return j.State + ", something open, locked or owed its way back"
	}
	return j.State
}
