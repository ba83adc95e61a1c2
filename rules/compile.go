package rules

import (
	"fmt"
	"sync"

	"github.com/expr-lang/expr"
	"github.com/expr-lang/expr/checker"
	"github.com/expr-lang/expr/compiler"
	"github.com/expr-lang/expr/conf"
	"github.com/expr-lang/expr/optimizer"
	"github.com/expr-lang/expr/parser"
	"github.com/expr-lang/expr/vm"

	"telltale/evidence"
)

// compareTypes registers < <= > >= == between two values of one dimension.
func compareTypes[T lengthValue | pressureValue | rateValue](name string, si func(T) float64) []expr.Option {
	operators := map[string]func(a, b float64) bool{
		"<":  func(a, b float64) bool { return a < b },
		"<=": func(a, b float64) bool { return a <= b },
		">":  func(a, b float64) bool { return a > b },
		">=": func(a, b float64) bool { return a >= b },
	}
	words := map[string]string{"<": "less", "<=": "at_most", ">": "more", ">=": "at_least"}
	var out []expr.Option
	for operator, compare := range operators {
		function := name + "_" + words[operator]
		out = append(out, expr.Function(function, func(p ...any) (any, error) {
			return compare(si(p[0].(T)), si(p[1].(T))), nil
		}, new(func(T, T) bool)))
	}
	return out
}

// makers registers the unit functions of one dimension: psi(3000), mm(165).
func makers[T lengthValue | pressureValue | rateValue](d evidence.Dimension, byFunction map[string]string, value func(float64) T) []expr.Option {
	var out []expr.Option
	for function, unit := range byFunction {
		out = append(out, expr.Function(function, func(p ...any) (any, error) {
			return value(evidence.SIOf(p[0].(float64), unit, d)), nil
		}, new(func(float64) T)))
	}
	return out
}

func conditionOptions() []expr.Option {
	options := []expr.Option{
		expr.Env(conditionEnv{}), expr.AsBool(), expr.DisableAllBuiltins(), expr.MaxNodes(mostConditionNodes),
		expr.Operator("<", "length_less", "pressure_less", "rate_less"),
		expr.Operator("<=", "length_at_most", "pressure_at_most", "rate_at_most"),
		expr.Operator(">", "length_more", "pressure_more", "rate_more"),
		expr.Operator(">=", "length_at_least", "pressure_at_least", "rate_at_least"),
	}
	options = append(options, compareTypes("length", func(v lengthValue) float64 { return v.SI })...)
	options = append(options, compareTypes("pressure", func(v pressureValue) float64 { return v.SI })...)
	options = append(options, compareTypes("rate", func(v rateValue) float64 { return v.SI })...)
	options = append(options, makers(evidence.Length, map[string]string{"inch": "in", "thou": "thou", "mm": "mm"}, func(x float64) lengthValue { return lengthValue{x} })...)
	options = append(options, makers(evidence.Pressure, map[string]string{"psi": "psi", "bar": "bar", "kPa": "kPa"}, func(x float64) pressureValue { return pressureValue{x} })...)
	options = append(options, makers(evidence.StrokeRate, map[string]string{"spm": "strokes/min"}, func(x float64) rateValue { return rateValue{x} })...)
	return options
}

// compiling holds the one configuration of all conditions: making it costs ten
// times what a condition does. The checker writes to it, hence the lock.
var compiling struct {
	sync.Mutex
	config *conf.Config
}

// withConfig runs f with the configuration of all conditions.
func withConfig(f func(*conf.Config) error) error {
	compiling.Lock()
	defer compiling.Unlock()
	if compiling.config == nil {
		compiling.config = conditionConfig()
	}
	return f(compiling.config)
}

func parseExpression(text string) (tree *parser.Tree, err error) {
	err = withConfig(func(config *conf.Config) (err error) {
		tree, err = parser.ParseWithConfig(text, config)
		return err
	})
	return tree, err
}

// checkTypes checks the types of a condition.
func checkTypes(tree *parser.Tree) error {
	return withConfig(func(config *conf.Config) error {
		_, err := new(checker.Checker).PatchAndCheck(tree, config)
		return err
	})
}

func conditionConfig() *conf.Config {
	config := conf.CreateNew()
	for _, option := range conditionOptions() {
		option(config)
	}
	for name := range config.Disabled {
		delete(config.Builtins, name)
	}
	config.Check()
	return config
}

// lazyProgram is a checked condition that is compiled when it is first asked:
// of the book's conditions a case asks a few.
type lazyProgram struct {
	tree    *parser.Tree
	once    sync.Once
	program *vm.Program
}

func (p *lazyProgram) get() *vm.Program {
	p.once.Do(func() {
		err := withConfig(func(config *conf.Config) (err error) {
			if err = optimizer.Optimize(&p.tree.Node, config); err == nil {
				p.program, err = compiler.Compile(p.tree, config)
			}
			return err
		})
		if err != nil {
			// Its names and types were checked when it was read.
			panic(fmt.Sprintf("rules: condition %q: %v", p.tree.Source, err))
		}
	})
	return p.program
}
