package rules

import (
	"errors"
	"slices"
	"strings"

	"github.com/expr-lang/expr/ast"
	"github.com/expr-lang/expr/conf"
	"github.com/expr-lang/expr/file"
	"github.com/expr-lang/expr/parser"

	"telltale/evidence"
	"telltale/evidence/source"
)

// Bounds of one condition. There are no loops, so a condition of this size runs
// in microseconds.
const (
	mostConditionBytes = 1024
	mostConditionNodes = 100
)

// Condition is a checked expression over the pump, the recent work and the
// findings. A nil Condition always holds.
type Condition struct {
	Source     string
	holds      test
	Quantities []string   // the pump's quantities that it reads
	Findings   bool       // it asks about more than what kind of pump it is
	Names      []Name     // that it asks about, as they stand in it
	Or         *Condition // holds in its place too; nil if there is none
	Beside     bool       // it asks whether something was taken beside moving parts
	Others     bool       // it asks whether another job holds the pump
}

// Name is an entry that a condition asks about: of "works", "signs", "causes" or
// "ratings".
type Name struct{ Of, ID string }

// asked is what a condition is asked of: a case, or, without one, a pump alone,
// before any finding is read.
type asked struct {
	pump  *evidence.Pump
	k     *evidence.Case
	book  *Book
	place *evidence.Place // of which it is asked; nil: of the whole pump
	near  *evidence.Case  // what of the case touches the place, once it was asked for
}

// here is what of the case is asked about: only what touches the place counts as
// present, absent or confirmed there.
func (a *asked) here() *evidence.Case {
	if a.place == nil {
		return a.k
	}
	if a.near == nil {
		near := *a.k
		near.Findings, near.Confirmed = nil, nil
		for _, f := range a.k.Findings {
			if slices.ContainsFunc(f.Over, a.place.Touches) {
				near.Findings = append(near.Findings, f)
			}
		}
		for _, at := range a.k.Confirmed {
			if at.Place.Touches(*a.place) {
				near.Confirmed = append(near.Confirmed, at)
			}
		}
		a.near = &near
	}
	return a.near
}

// question is a function of conditions: what it asks of a name.
type question struct {
	section string                      // whose ids it takes
	words   func() []string             // or these words
	pump    func(*evidence.Pump) string // the word of the pump that is compared, nil: it asks the case
	holds   func(a *asked, name, kind string) bool
}

// questions are all functions of conditions but the units.
var questions = map[string]question{
	"action_is":   {words: evidence.Actions, pump: func(p *evidence.Pump) string { return string(p.Action) }},
	"state_is":    {words: evidence.PumpStates, pump: func(p *evidence.Pump) string { return string(p.State) }},
	"rotation_is": {words: evidence.Rotations, pump: func(p *evidence.Pump) string { return string(p.Rotation) }},
	"recent":      {section: "works", holds: func(a *asked, work, _ string) bool { return a.k.WasDone(work) }},
	"present":     {section: "signs", holds: func(a *asked, sign, kind string) bool { return a.k.Shows(sign, kind) && a.here().Shows(sign, kind) }},
	"absent": {section: "signs", holds: func(a *asked, sign, _ string) bool {
		return a.here().ShowsNowhere(sign, a.pump.Places(a.book.Signs.Get(sign).Level))
	}},
	"everywhere":  {section: "signs", holds: func(a *asked, sign, _ string) bool { return a.k.Shows(sign, "") && a.here().ShowsEverywhere(sign) }},
	"confirmed":   {section: "causes", holds: func(a *asked, cause, _ string) bool { return a.k.HasConfirmed(cause) && a.here().HasConfirmed(cause) }},
	"past":        {section: "ratings", holds: func(a *asked, rating, _ string) bool { return a.k.IsPast(rating) }},
	"lock_hangs":  {holds: func(a *asked, _, _ string) bool { return len(a.k.HangingLocks()) > 0 }},
	"stands_open": {holds: func(a *asked, _, _ string) bool { return len(a.k.StillLeftOpen()) > 0 }},
	otherHolds: {holds: func(a *asked, _, _ string) bool {
		return slices.ContainsFunc(a.k.Others, func(o evidence.OtherJob) bool { return o.Holds() })
	}},
	besideMoving: {holds: func(a *asked, _, _ string) bool { return len(a.book.TakenBeside(a.here())) > 0 }},
}

// besideMoving is the condition that something was taken beside moving parts.
const besideMoving = "beside_moving_parts"

// otherHolds is the condition that another job holds the pump.
const otherHolds = "other_job_holds"

// AsksOthers says whether a condition asks whether another job holds the pump.
func (c *Condition) AsksOthers() bool { return c != nil && (c.Others || c.Or.AsksOthers()) }

// quantities are those of the pump by their name in conditions and in the case
// file.
var quantities = map[string]struct {
	dimension evidence.Dimension
	of        func(*evidence.Pump) *evidence.Quantity
}{
	"liner":     {evidence.Length, func(p *evidence.Pump) *evidence.Quantity { return p.Liner }},
	"stroke":    {evidence.Length, func(p *evidence.Pump) *evidence.Quantity { return p.Stroke }},
	"speed":     {evidence.StrokeRate, func(p *evidence.Pump) *evidence.Quantity { return p.Speed }},
	"discharge": {evidence.Pressure, func(p *evidence.Pump) *evidence.Quantity { return p.Discharge }},
}

// units are the functions that make a figure of a number.
var units = map[string]struct {
	dimension evidence.Dimension
	name      string
}{
	"inch": {evidence.Length, "in"}, "thou": {evidence.Length, "thou"}, "mm": {evidence.Length, "mm"},
	"psi": {evidence.Pressure, "psi"}, "bar": {evidence.Pressure, "bar"}, "kPa": {evidence.Pressure, "kPa"},
	"spm": {evidence.StrokeRate, "strokes/min"},
}

// expressions is the form of conditions: no built-in functions.
var expressions = &conf.Config{MaxNodes: mostConditionNodes}

// readCondition reads and checks one condition; nil when n is nil.
func (l *loader) readCondition(n *source.Node) *Condition {
	text := n.String(&l.problems, "a condition")
	if text == "" {
		return nil
	}
	if len(n.Text) > mostConditionBytes {
		l.problems.Add(n.Pos, source.TooLarge, "the condition has %d characters; at most %d are read", len(n.Text), mostConditionBytes)
		return nil
	}
	if known, ok := l.conditions[n.Text]; ok {
		return &known
	}
	tree, err := parser.ParseWithConfig(n.Text, expressions)
	if err != nil {
		l.notAnExpression(n, err)
		return nil
	}
	r := conditionReader{loader: l, node: n, out: Condition{Source: text}}
	before := l.problems.Len()
	t := r.test(tree.Node)
	if l.problems.Len() > before {
		return nil
	}
	out := r.out // alone, so that no condition keeps the loader and its files
	out.holds = t
	l.conditions[n.Text] = out
	return &out
}

// anyCondition reads one condition, or a list of which one is enough; nil when
// n is nil.
func (l *loader) anyCondition(n *source.Node) *Condition {
	if n == nil || n.Kind != source.List {
		return l.readCondition(n)
	}
	var out *Condition
	for i := len(n.Items) - 1; i >= 0; i-- {
		if c := l.readCondition(n.Items[i]); c != nil {
			c.Or, out = out, c
		}
	}
	if len(n.Items) == 0 {
		l.problems.Add(n.Pos, source.BadCondition, "the list of conditions is empty; expected at least one")
	}
	return out
}

// notAnExpression places the parser's message where it belongs in the file.
func (l *loader) notAnExpression(n *source.Node, err error) {
	at, message := n.Pos, err.Error()
	if located := (*file.Error)(nil); errors.As(err, &located) {
		at, message = n.At(located.From), located.Message
	}
	message, _, _ = strings.Cut(message, "\n")
	l.problems.Add(at, source.BadCondition, "in the condition: %s", message)
}

// conditionReader makes a condition of an expression, and allows only what a
// condition may use: comparisons, and calls with words that the book knows,
// joined by and, or, not.
type conditionReader struct {
	loader *loader
	node   *source.Node
	out    Condition
}

// test is a part of a condition that comes to yes or no; nil if it has a mistake.
type test func(*asked) bool

func (r *conditionReader) add(n ast.Node, format string, args ...any) {
	r.loader.problems.Add(r.node.At(n.Location().From), source.BadCondition, "in the condition: "+format, args...)
}

// test reads what comes to yes or no.
func (r *conditionReader) test(n ast.Node) test {
	switch n := n.(type) {
	case *ast.BoolNode:
		return func(*asked) bool { return n.Value }
	case *ast.UnaryNode:
		if n.Operator == "not" || n.Operator == "!" {
			t := r.test(n.Node)
			return func(a *asked) bool { return !t(a) }
		}
	case *ast.BinaryNode:
		return r.binary(n)
	case *ast.CallNode:
		return r.question(n)
	case *ast.IdentifierNode:
		if _, is := quantities[n.Value]; !is {
			r.unknown(n)
			return nil
		}
	}
	r.misplaced(n, yesOrNo)
	return nil
}

const yesOrNo = "a yes or no; write comparisons and calls joined by and, or, not"

// misplaced reports a part of an expression that is not what is wanted there.
func (r *conditionReader) misplaced(n ast.Node, wanted string) {
	switch n.(type) {
	case *ast.BoolNode, *ast.IntegerNode, *ast.FloatNode, *ast.StringNode, *ast.UnaryNode, *ast.BinaryNode, *ast.IdentifierNode, *ast.CallNode:
		r.add(n, "this is not %s", wanted)
	default:
		r.add(n, "this is more than a condition may use; write comparisons and calls joined by and, or, not")
	}
}

func (r *conditionReader) binary(n *ast.BinaryNode) test {
	switch n.Operator {
	case "&&", "and":
		left, right := r.test(n.Left), r.test(n.Right)
		return func(a *asked) bool { return left(a) && right(a) }
	case "||", "or":
		left, right := r.test(n.Left), r.test(n.Right)
		return func(a *asked) bool { return left(a) || right(a) }
	case "<", "<=", ">", ">=":
		return r.comparison(n)
	case "==", "!=":
		r.add(n, "%s is not used on measured values; compare with < or >", n.Operator)
	default:
		r.add(n, "operator %s is not allowed; use and, or, not, < <= > >=", n.Operator)
	}
	return nil
}

// figure is a part of a condition that comes to a number: of a dimension in SI
// units, or plain.
type figure struct {
	of        func(*evidence.Pump) float64
	dimension evidence.Dimension
}

func (r *conditionReader) comparison(n *ast.BinaryNode) test {
	before := r.loader.problems.Len()
	left, right := r.figure(n.Left), r.figure(n.Right)
	if left.dimension != right.dimension && r.loader.problems.Len() == before {
		r.add(n, "%s compares %s with %s", n.Operator, left.what(), right.what())
	}
	compare := map[string]func(x, y float64) bool{
		"<": func(x, y float64) bool { return x < y }, "<=": func(x, y float64) bool { return x <= y },
		">": func(x, y float64) bool { return x > y }, ">=": func(x, y float64) bool { return x >= y },
	}[n.Operator]
	return func(a *asked) bool { return compare(left.of(a.pump), right.of(a.pump)) }
}

func (f figure) what() string {
	if f.dimension == "" {
		return "a plain number; give it a unit, such as psi(3000)"
	}
	return "a " + string(f.dimension)
}

// figure reads a quantity of the pump, a number, or a number with its unit.
func (r *conditionReader) figure(n ast.Node) figure {
	number := func(x float64) figure { return figure{of: func(*evidence.Pump) float64 { return x }} }
	switch n := n.(type) {
	case *ast.IntegerNode:
		return number(float64(n.Value))
	case *ast.FloatNode:
		return number(n.Value)
	case *ast.IdentifierNode:
		q, is := quantities[n.Value]
		if !is {
			r.unknown(n)
			return figure{}
		}
		r.out.Quantities = append(r.out.Quantities, n.Value)
		return figure{func(p *evidence.Pump) float64 { return q.of(p).SI }, q.dimension}
	case *ast.CallNode:
		name := r.callee(n)
		unit, is := units[name]
		switch {
		case name == "":
			return figure{}
		case !is:
		case len(n.Arguments) == 1:
			if x := r.figure(n.Arguments[0]); x.of != nil && x.dimension == "" {
				si := evidence.SIOf(x.of(nil), unit.name, unit.dimension)
				return figure{func(*evidence.Pump) float64 { return si }, unit.dimension}
			}
			fallthrough
		default:
			r.add(n, "%s takes a number", name)
			return figure{}
		}
	}
	r.misplaced(n, "a figure to compare; write a quantity of the pump, or a number with its unit")
	return figure{}
}

// callee gives the known function that is called; "" if it is none.
func (r *conditionReader) callee(n *ast.CallNode) string {
	callee, named := n.Callee.(*ast.IdentifierNode)
	if !named {
		r.add(n.Callee, "only the named functions can be called")
		return ""
	}
	_, asks := questions[callee.Value]
	if _, is := units[callee.Value]; !is && !asks {
		r.unknown(callee)
		return ""
	}
	return callee.Value
}

// unknown reports a name that is none of a condition's.
func (r *conditionReader) unknown(n *ast.IdentifierNode) {
	var allowed []string
	for known := range quantities {
		allowed = append(allowed, known)
	}
	for known := range units {
		allowed = append(allowed, known)
	}
	for known := range questions {
		allowed = append(allowed, known)
	}
	r.add(n, "unknown name %q%s", n.Value, source.Expected(n.Value, allowed))
}

// question reads a call that comes to yes or no.
func (r *conditionReader) question(n *ast.CallNode) test {
	name := r.callee(n)
	q, asks := questions[name]
	if !asks {
		if name != "" {
			r.misplaced(n, yesOrNo)
		}
		return nil
	}
	words := r.names(n, name, q)
	r.out.Findings = r.out.Findings || q.pump == nil || name == "state_is"
	r.out.Beside = r.out.Beside || name == besideMoving
	r.out.Others = r.out.Others || name == otherHolds
	if q.section != "" {
		r.out.Names = append(r.out.Names, Name{q.section, words[0]})
	}
	if q.pump != nil {
		return func(a *asked) bool { return q.pump(a.pump) == words[0] }
	}
	return func(a *asked) bool { return a.k != nil && q.holds(a, words[0], words[1]) }
}

// names reads the names that a call asks about: none, one, or a sign and a kind
// of it.
func (r *conditionReader) names(n *ast.CallNode, name string, q question) (out [2]string) {
	least, most := 1, 1
	switch {
	case q.section == "" && q.words == nil:
		least, most = 0, 0
	case name == "present":
		most = 2
	}
	if len(n.Arguments) < least || len(n.Arguments) > most {
		r.add(n, "%s takes %d name(s)", name, most)
		return out
	}
	allowed := r.loader.idsOf(q.section)
	if q.words != nil {
		allowed = q.words()
	}
	for i, argument := range n.Arguments {
		word, ok := argument.(*ast.StringNode)
		if !ok {
			r.add(argument, "%s takes a name in double quotes", name)
			return out
		}
		if i == 1 {
			if allowed = r.kindsOf(out[0]); len(allowed) == 0 {
				r.add(argument, "this sign has no kinds")
				return out
			}
		}
		if !slices.Contains(allowed, word.Value) {
			r.add(argument, "%s does not know %q%s", name, source.Clip(word.Value), source.Expected(word.Value, allowed))
			return out
		}
		out[i] = word.Value
	}
	return out
}

func (r *conditionReader) kindsOf(sign string) []string {
	if s := r.loader.book.Signs.Get(sign); s != nil {
		return s.KindIDs()
	}
	return nil
}

// Holds says whether the condition holds for the case. A quantity that the
// case does not give makes it not hold.
func (c *Condition) Holds(k *evidence.Case, book *Book) bool {
	if c == nil {
		return true
	}
	return c.run(&asked{pump: &k.Pump, k: k, book: book})
}

// HoldsAt is Holds for one place of the pump: only what touches the place
// counts as present, absent or confirmed.
func (c *Condition) HoldsAt(place evidence.Place, k *evidence.Case, book *Book) bool {
	if c == nil {
		return true
	}
	return c.run(&asked{pump: &k.Pump, k: k, book: book, place: &place})
}

// AsksAbout says whether a finding of the sign can change what the condition
// comes to.
func (c *Condition) AsksAbout(sign string) bool {
	return c != nil && (slices.Contains(c.Names, Name{"signs", sign}) || c.Or.AsksAbout(sign))
}

// HoldsAlone is Holds without what holds in its place too.
func (c *Condition) HoldsAlone(k *evidence.Case, book *Book) bool {
	if c == nil || c.Or == nil {
		return c.Holds(k, book)
	}
	alone := *c
	alone.Or = nil
	return alone.Holds(k, book)
}

// HoldsForPump says whether the condition holds for the pump alone, before
// any finding is read.
func (c *Condition) HoldsForPump(p *evidence.Pump) bool {
	if c == nil {
		return true
	}
	return c.run(&asked{pump: p})
}

// AsksRating says whether the condition asks about a rating.
func (c *Condition) AsksRating(id string) bool {
	return c != nil && (slices.Contains(c.Names, Name{"ratings", id}) || c.Or.AsksRating(id))
}

// run tries the condition, then the one that holds in its place too. A quantity
// that is not given makes a condition not hold.
func (c *Condition) run(a *asked) bool {
	missing := slices.ContainsFunc(c.Quantities, func(name string) bool { return quantities[name].of(a.pump) == nil })
	return !missing && c.holds(a) || c.Or != nil && c.Or.run(a)
}
