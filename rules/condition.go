package rules

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/expr-lang/expr"
	"github.com/expr-lang/expr/ast"
	"github.com/expr-lang/expr/file"

	"telltale/evidence"
	"telltale/evidence/source"
)

// Bounds of one condition. There are no loops and no built-in functions, so a
// condition of this size runs in microseconds.
const (
	mostConditionBytes = 1024
	mostConditionNodes = 100
)

// Condition is a checked expression over the pump, the recent work and the
// findings. A nil Condition always holds.
type Condition struct {
	Source     string
	program    *lazyProgram
	Quantities []string   // the pump's quantities that it reads
	Findings   bool       // it asks about more than what kind of pump it is
	Signs      []string   // that it asks about
	Ratings    []string   // that it asks about
	Or         *Condition // holds in its place too; nil if there is none
	Beside     bool       // it asks whether something was taken beside moving parts
	Works      bool       // it asks about work that was done
	Needs      bool       // it cannot hold unless one of Signs was seen or some work was done
}

// One type per dimension lets the expression compiler refuse a pressure
// compared with a length. Values are in SI units.
type (
	lengthValue   struct{ SI float64 }
	pressureValue struct{ SI float64 }
	rateValue     struct{ SI float64 }
)

// conditionEnv is what a condition can name.
type conditionEnv struct {
	Liner      lengthValue                  `expr:"liner"`
	Stroke     lengthValue                  `expr:"stroke"`
	Speed      rateValue                    `expr:"speed"`
	Discharge  pressureValue                `expr:"discharge"`
	ActionIs   func(string) bool            `expr:"action_is"`
	StateIs    func(string) bool            `expr:"state_is"`
	RotationIs func(string) bool            `expr:"rotation_is"`
	Recent     func(string) bool            `expr:"recent"`
	Present    func(string, ...string) bool `expr:"present"`
	Absent     func(string) bool            `expr:"absent"`
	Everywhere func(string) bool            `expr:"everywhere"`
	Confirmed  func(string) bool            `expr:"confirmed"`
	Past       func(string) bool            `expr:"past"`
	Beside     func() bool                  `expr:"beside_moving_parts"`
}

// quantityNames are the pump's quantities by their name in conditions and in
// the case file.
var quantityNames = []string{"liner", "stroke", "speed", "discharge"}

// unitFunctions may only take a plain number.
var unitFunctions = []string{"inch", "thou", "mm", "psi", "bar", "kPa", "spm"}

// compileCondition reads and checks one condition; nil when n is nil.
func (l *loader) compileCondition(n *source.Node) *Condition {
	text := n.String(&l.problems, "a condition")
	if text == "" {
		return nil
	}
	if len(n.Text) > mostConditionBytes {
		l.problems.Add(n.Pos, "the condition has %d characters; at most %d are read", len(n.Text), mostConditionBytes)
		return nil
	}
	if known, ok := l.conditions[n.Text]; ok {
		return &known
	}
	tree, err := parseExpression(n.Text)
	if err != nil {
		l.conditionError(n, err)
		return nil
	}
	v := conditionVisitor{loader: l, node: n}
	before := l.problems.Len()
	ast.Walk(&tree.Node, &v)
	if l.problems.Len() > before {
		return nil
	}
	if err := checkTypes(tree); err != nil {
		l.conditionError(n, err)
		return nil
	}
	out := Condition{Source: text, program: &lazyProgram{tree: tree}, Quantities: v.quantities, Findings: v.findings, Signs: v.signs, Ratings: v.ratings, Beside: v.beside, Works: v.works, Needs: needs(tree.Node)}
	l.conditions[n.Text] = out
	return &out
}

// needs says whether a condition cannot hold unless a sign that it asks about was
// seen, or work done: with neither and all else as it may be, ands and ors alone
// come to no.
func needs(n ast.Node) bool {
	holds, plain := hopeful(n)
	return plain && !holds
}

// hopeful is what a condition comes to with every sign unseen, no work done and
// all else as it may be; it is plain if that is put together by and and or alone.
func hopeful(n ast.Node) (holds, plain bool) {
	switch n := n.(type) {
	case *ast.BoolNode:
		return n.Value, true
	case *ast.CallNode:
		callee, _ := n.Callee.(*ast.IdentifierNode)
		return callee == nil || !slices.Contains([]string{"present", "everywhere", "recent"}, callee.Value), true
	case *ast.BinaryNode:
		left, leftPlain := hopeful(n.Left)
		right, rightPlain := hopeful(n.Right)
		switch n.Operator {
		case "&&", "and":
			return left && right, leftPlain && rightPlain
		case "||", "or":
			return left || right, leftPlain && rightPlain
		}
		return true, true
	}
	return true, false
}

// anyCondition reads one condition, or a list of which one is enough; nil when
// n is nil.
func (l *loader) anyCondition(n *source.Node) *Condition {
	if n == nil || n.Kind != source.List {
		return l.compileCondition(n)
	}
	var out *Condition
	for i := len(n.Items) - 1; i >= 0; i-- {
		if c := l.compileCondition(n.Items[i]); c != nil {
			c.Or, out = out, c
		}
	}
	if len(n.Items) == 0 {
		l.problems.Add(n.Pos, "the list of conditions is empty; expected at least one")
	}
	return out
}

// conditionError places the compiler's message where it belongs in the file.
func (l *loader) conditionError(n *source.Node, err error) {
	var located *file.Error
	if !errors.As(err, &located) {
		l.problems.Add(n.Pos, "the condition is not a yes or no: %s", firstLine(err.Error()))
		return
	}
	message := located.Message
	for _, private := range []string{"rules.lengthValue", "rules.pressureValue", "rules.rateValue"} {
		message = strings.ReplaceAll(message, private, strings.TrimSuffix(strings.TrimPrefix(private, "rules."), "Value"))
	}
	l.problems.Add(n.At(located.From), "in the condition: %s", firstLine(message))
}

func firstLine(s string) string {
	s, _, _ = strings.Cut(s, "\n")
	return s
}

// conditionVisitor allows only what a condition may use, before anything is
// compiled: no loops, no member opening, no built-ins, and only words that the
// book knows.
type conditionVisitor struct {
	loader     *loader
	node       *source.Node
	quantities []string
	findings   bool
	signs      []string
	ratings    []string
	beside     bool
	works      bool
}

// Visit checks one node of the expression.
func (v *conditionVisitor) Visit(n *ast.Node) {
	switch node := (*n).(type) {
	case *ast.BoolNode, *ast.IntegerNode, *ast.FloatNode, *ast.StringNode, *ast.UnaryNode:
	case *ast.BinaryNode:
		v.operator(node)
	case *ast.IdentifierNode:
		v.identifier(node)
	case *ast.CallNode:
		v.call(node)
	default:
		v.add(*n, "this is more than a condition may use; write comparisons and calls joined by and, or, not")
	}
}

func (v *conditionVisitor) add(n ast.Node, format string, args ...any) {
	v.loader.problems.Add(v.node.At(n.Location().From), "in the condition: "+format, args...)
}

func (v *conditionVisitor) operator(n *ast.BinaryNode) {
	switch n.Operator {
	case "&&", "and", "||", "or", "<", "<=", ">", ">=":
	case "==", "!=":
		v.add(n, "%s is not used on measured values; compare with < or >", n.Operator)
	default:
		v.add(n, "operator %s is not allowed; use and, or, not, < <= > >=", n.Operator)
	}
}

func (v *conditionVisitor) identifier(n *ast.IdentifierNode) {
	for _, q := range quantityNames {
		if n.Value == q {
			v.quantities = append(v.quantities, q)
			return
		}
	}
	if _, ok := v.loader.conditionWords()[n.Value]; ok {
		return
	}
	for _, f := range unitFunctions {
		if f == n.Value {
			return
		}
	}
	allowed := append(append([]string{}, quantityNames...), unitFunctions...)
	for f := range v.loader.conditionWords() {
		allowed = append(allowed, f)
	}
	v.add(n, "unknown name %q%s", n.Value, source.Expected(n.Value, allowed))
}

// call checks that each argument is a word that exists.
func (v *conditionVisitor) call(n *ast.CallNode) {
	callee, ok := n.Callee.(*ast.IdentifierNode)
	if !ok {
		v.add(n, "only the named functions can be called")
		return
	}
	words, known := v.loader.conditionWords()[callee.Value]
	if !known {
		return // a unit function, or an unknown name that identifier reports
	}
	v.findings = v.findings || slices.Contains([]string{"present", "absent", "everywhere", "confirmed", "recent", "state_is", "past", besideMoving}, callee.Value)
	v.beside = v.beside || callee.Value == besideMoving
	v.works = v.works || callee.Value == "recent"
	for i, argument := range n.Arguments {
		word, ok := argument.(*ast.StringNode)
		if !ok {
			v.add(argument, "%s takes a name in double quotes", callee.Value)
			return
		}
		allowed := words
		if i == 0 && slices.Contains([]string{"present", "absent", "everywhere"}, callee.Value) {
			v.signs = append(v.signs, word.Value)
		}
		if i == 1 && callee.Value == "present" {
			if allowed = v.kindsOf(n.Arguments[0]); allowed == nil {
				v.add(argument, "this sign has no kinds")
				return
			}
		}
		if callee.Value == "past" {
			v.ratings = append(v.ratings, word.Value)
		}
		if !slices.Contains(allowed, word.Value) {
			v.add(argument, "%s does not know %q%s", callee.Value, source.Clip(word.Value), source.Expected(word.Value, allowed))
		}
	}
	if most := argumentCount(callee.Value); len(n.Arguments) < min(1, most) || len(n.Arguments) > most {
		v.add(n, "%s takes %d name(s)", callee.Value, most)
	}
}

func argumentCount(function string) int {
	switch function {
	case "present":
		return 2
	case besideMoving:
		return 0
	}
	return 1
}

// besideMoving is the condition that something was taken beside moving parts.
const besideMoving = "beside_moving_parts"

func (v *conditionVisitor) kindsOf(sign ast.Node) []string {
	name, ok := sign.(*ast.StringNode)
	if !ok {
		return nil
	}
	if s := v.loader.book.Signs.Get(name.Value); s != nil && len(s.Kinds) > 0 {
		return s.KindIDs()
	}
	return nil
}

// conditionWords gives, for each function of conditions, the names that it
// may be asked about.
func (l *loader) conditionWords() map[string][]string {
	if l.words == nil {
		signs := l.idsOf("signs")
		l.words = map[string][]string{
			"action_is":   evidence.Actions(),
			"state_is":    evidence.PumpStates(),
			"rotation_is": evidence.Rotations(),
			"recent":      l.idsOf("works"),
			"present":     signs,
			"absent":      signs,
			"everywhere":  signs,
			"confirmed":   l.idsOf("causes"),
			"past":        l.idsOf("ratings"),
			besideMoving:  nil,
		}
	}
	return l.words
}

// Holds says whether the condition holds for the case. A quantity that the
// case does not give makes it not hold.
func (c *Condition) Holds(k *evidence.Case, book *Book) bool {
	if c == nil {
		return true
	}
	if c.unseen(k) {
		return false
	}
	env := pumpEnv(&k.Pump)
	env.Recent = func(work string) bool { return slices.Contains(k.Recent, work) }
	env.Present = func(sign string, kind ...string) bool { return k.Shows(sign, strings.Join(kind, "")) }
	env.Absent = func(sign string) bool {
		return k.ShowsNowhere(sign, k.Pump.Places(book.Signs.Get(sign).Level))
	}
	env.Everywhere = k.ShowsEverywhere
	env.Confirmed = k.HasConfirmed
	env.Past = k.IsPast
	env.Beside = func() bool { return len(book.TakenBeside(k)) > 0 }
	return c.run(env, &k.Pump)
}

// unseen says whether the condition, and each that holds in its place too,
// needs what was not seen or done.
func (c *Condition) unseen(k *evidence.Case) bool {
	for ; c != nil; c = c.Or {
		if !c.Needs || c.Works && len(k.Recent) > 0 || slices.ContainsFunc(c.Signs, func(id string) bool { return k.Shows(id, "") }) {
			return false
		}
	}
	return true
}

// HoldsAt is Holds for one place of the pump: only what touches the place
// counts as present, absent or confirmed.
func (c *Condition) HoldsAt(place evidence.Place, k *evidence.Case, book *Book) bool {
	if c == nil {
		return true
	}
	if c.unseen(k) {
		return false
	}
	here := *k
	here.Findings = nil
	for _, f := range k.Findings {
		if slices.ContainsFunc(f.Over, place.Touches) {
			here.Findings = append(here.Findings, f)
		}
	}
	here.Confirmed = nil
	for _, at := range k.Confirmed {
		if at.Place.Touches(place) {
			here.Confirmed = append(here.Confirmed, at)
		}
	}
	return c.Holds(&here, book)
}

// AsksAbout says whether a finding of the sign can change what the condition
// comes to.
func (c *Condition) AsksAbout(sign string) bool {
	return c != nil && (slices.Contains(c.Signs, sign) || c.Or.AsksAbout(sign))
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
	env := pumpEnv(p)
	no := func(string) bool { return false }
	env.Recent, env.Absent, env.Everywhere, env.Confirmed, env.Past = no, no, no, no, no
	env.Present = func(string, ...string) bool { return false }
	env.Beside = func() bool { return false }
	return c.run(env, p)
}

func pumpEnv(p *evidence.Pump) conditionEnv {
	env := conditionEnv{
		ActionIs:   func(s string) bool { return string(p.Action) == s },
		StateIs:    func(s string) bool { return string(p.State) == s },
		RotationIs: func(s string) bool { return string(p.Rotation) == s },
	}
	if p.Liner != nil {
		env.Liner.SI = p.Liner.SI
	}
	if p.Stroke != nil {
		env.Stroke.SI = p.Stroke.SI
	}
	if p.Speed != nil {
		env.Speed.SI = p.Speed.SI
	}
	if p.Discharge != nil {
		env.Discharge.SI = p.Discharge.SI
	}
	return env
}

// AsksRating says whether the condition asks about a rating.
func (c *Condition) AsksRating(id string) bool {
	return c != nil && (slices.Contains(c.Ratings, id) || c.Or.AsksRating(id))
}

// run tries the condition, then the one that holds in its place too.
func (c *Condition) run(env conditionEnv, p *evidence.Pump) bool {
	return c.runAlone(env, p) || c.Or != nil && c.Or.run(env, p)
}

func (c *Condition) runAlone(env conditionEnv, p *evidence.Pump) bool {
	given := map[string]bool{"liner": p.Liner != nil, "stroke": p.Stroke != nil, "speed": p.Speed != nil, "discharge": p.Discharge != nil}
	for _, q := range c.Quantities {
		if !given[q] {
			return false
		}
	}
	out, err := expr.Run(c.program.get(), env)
	if err != nil {
		// Every name and type was checked at load; a failure here is a
		// mistake of this package, not of the user.
		panic(fmt.Sprintf("rules: condition %q: %v", c.Source, err))
	}
	return out.(bool)
}
