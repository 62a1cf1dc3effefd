package cli

import (
	"bytes"
	"fmt"
	"slices"
	"strings"

	"beatwright/internal/reckoning"
)

type reckonCmd struct {
	JSON bool   `help:"Print one JSON object."`
	Name string `arg:"" name:"NAME" help:"One of ${calculators}."`
	// Args are a calculator's own inputs; Inputs stands for them in the help.
	Args   []string `kong:"-"`
	Inputs []string `arg:"" optional:"" name:"INPUT" help:"Its inputs, as --name value; reckon NAME --help lists them."`
}

// splitReckon takes away what follows the name of a calculator: those are
// inputs of its own, which kong does not know.
func splitReckon(args []string) (rest, inputs []string) {
	if len(args) == 0 || args[0] != "reckon" {
		return args, nil
	}
	for i, a := range args[1:] {
		if !strings.HasPrefix(a, "-") {
			return args[:i+2], args[i+2:]
		}
	}
	return args, nil
}

func (c *reckonCmd) run(s *session) error {
	args := slices.DeleteFunc(slices.Clone(c.Args), func(a string) bool { return a == "--json" })
	asJSON := c.JSON || len(args) < len(c.Args)
	if slices.Contains(args, "--help") || slices.Contains(args, "-h") {
		return s.helpReckon(c.Name)
	}
	var out bytes.Buffer
	if err := reckoning.Run(&out, c.Name, args, asJSON); err != nil {
		return err
	}
	return s.print(out.String())
}

// helpReckon lists the inputs of a calculator.
func (s *session) helpReckon(name string) error {
	calc, ok := reckoning.Find(name)
	if !ok {
		return usageError{err: fmt.Errorf("no calculator %q: there are %s", name, strings.Join(reckoning.Names(), ", "))}
	}
	var b strings.Builder
	fmt.Fprintf(&b, "Usage: beatwright reckon %s [--json] INPUTS\n\nReckons %s.\n\nInputs:\n", name, calc.Summary)
	for _, in := range calc.Inputs {
		help := in.Help
		if in.Optional {
			help += " (may be left out)"
		}
		fmt.Fprintf(&b, "  %-28s  %s\n", "--"+in.Name, help)
	}
	return s.print(b.String())
}
