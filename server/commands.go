package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"strings"
)

// command is one word of the command line.
type command struct {
	name, args, short string
	run               func(ctx context.Context, c console, args []string) error
}

func commands() []command {
	return []command{
		{"serve", "[flags]", "serve a shop (this is what happens without a command)", serve},
		{"demo", "[--data DIR] [--listen ADDR] [--no-serve]", "load an invented working day, build and verify a claim, then serve it", demoDay},
		{"verify", "[--json] FILE…", "check claim bundles; no server, store or network is needed", verify},
		{"rules test", "[DIR]", "run the example cases of the rule packs, and of those in DIR", rulesTest},
		{"rules explain", "JOB [--data DIR]", "say why a job's claim is complete or not, requirement by requirement", rulesExplain},
		{"custody check", "[--data DIR] [FILE…]", "check every entry, original and checkpoint that is kept", custodyCheck},
		{"version", "", "say which version this is", version},
	}
}

// Ways a command can end other than well.
var (
	// errBroken: the command did its work, and what it looked at is not in order. It has said so itself.
	errBroken = errors.New("not in order")
	// errHelp: help was asked for and given.
	errHelp = flag.ErrHelp
)

// usageError is a command line that can't be understood.
type usageError struct{ says string }

func (e *usageError) Error() string { return e.says }

func usagef(format string, args ...any) error { return &usageError{fmt.Sprintf(format, args...)} }

// run finds the command, runs it, and returns the exit code: 0 = good, 1 = not in order or failed, 2 = not understood.
func run(ctx context.Context, c console, args []string) int {
	err := dispatch(ctx, c, args)
	var usage *usageError
	switch {
	case err == nil, errors.Is(err, errHelp):
		return 0
	case errors.Is(err, errBroken):
		return 1
	case errors.As(err, &usage):
		fmt.Fprintf(c.err, "kickplate: %s\nRun \"kickplate help\" to see what is possible.\n", usage.says)
		return 2
	}
	fmt.Fprintf(c.err, "kickplate: %v\n", err)
	return 1
}

func dispatch(ctx context.Context, c console, args []string) error {
	if len(args) == 0 || strings.HasPrefix(args[0], "-") && !isHelp(args[0]) {
		return serve(ctx, c, args)
	}
	if isHelp(args[0]) {
		return help(c, args[1:])
	}
	for _, cmd := range commands() {
		words := strings.Fields(cmd.name)
		if len(args) >= len(words) && strings.Join(args[:len(words)], " ") == cmd.name {
			return cmd.run(ctx, c, args[len(words):])
		}
	}
	if args[0] == "rules" || args[0] == "custody" {
		return usagef("%q needs one more word: %s.", args[0], strings.Join(second(args[0]), " or "))
	}
	return usagef("there is no command %q.", args[0])
}

func second(first string) []string {
	var words []string
	for _, cmd := range commands() {
		if a, b, ok := strings.Cut(cmd.name, " "); ok && a == first {
			words = append(words, b)
		}
	}
	return words
}

func isHelp(arg string) bool {
	return arg == "help" || arg == "-h" || arg == "-help" || arg == "--help"
}

func help(c console, args []string) error {
	if len(args) > 0 {
		for _, cmd := range commands() {
			if cmd.name == strings.Join(args, " ") {
				return cmd.run(context.Background(), c, []string{"--help"})
			}
		}
		return usagef("there is no command %q.", strings.Join(args, " "))
	}
	fmt.Fprint(c.out, `Kickplate proves what was found on a repair visit, and gets warranty claims paid.

  go run ./server                 start on this machine, with data in ./kickplate-data
  go run ./server demo            see it with an invented working day

Commands:

`)
	for _, cmd := range commands() {
		fmt.Fprintf(c.out, "  %-14s %s\n  %-14s %s\n", cmd.name, cmd.args, "", cmd.short)
	}
	fmt.Fprint(c.out, "\nRun \"help COMMAND\" for the flags of one. Each flag can also be set in the environment: --listen as KICKPLATE_LISTEN.\n")
	return nil
}

// flags makes a flag set that explains itself and never exits.
func flags(c console, name, args, about string) *flag.FlagSet {
	fs := flag.NewFlagSet(name, flag.ContinueOnError)
	fs.SetOutput(io.Discard)
	fs.Usage = func() {
		fmt.Fprintf(c.out, "Usage: kickplate %s %s\n\n%s\n", name, args, strings.TrimSpace(about))
		any := false
		fs.VisitAll(func(*flag.Flag) { any = true })
		if any {
			fmt.Fprint(c.out, "\nFlags:\n")
			fs.VisitAll(func(f *flag.Flag) {
				kind, text := flag.UnquoteUsage(f)
				fmt.Fprintf(c.out, "  --%s", f.Name)
				if kind != "" {
					fmt.Fprintf(c.out, " %s", kind)
				}
				fmt.Fprintf(c.out, "\n        %s", text)
				if f.DefValue != "" && f.DefValue != "false" {
					fmt.Fprintf(c.out, " (%s when not given)", f.DefValue)
				}
				fmt.Fprintln(c.out)
			})
		}
	}
	return fs
}

// parse reads flags, also behind other arguments, then fills in from the environment what was not given.
func parse(c console, fs *flag.FlagSet, args []string) (rest []string, err error) {
	for {
		if err := fs.Parse(args); err != nil {
			if errors.Is(err, flag.ErrHelp) {
				return nil, errHelp
			}
			return nil, usagef("%v.", err)
		}
		args = fs.Args()
		if len(args) == 0 {
			break
		}
		rest, args = append(rest, args[0]), args[1:]
	}
	given := map[string]bool{}
	fs.Visit(func(f *flag.Flag) { given[f.Name] = true })
	fs.VisitAll(func(f *flag.Flag) {
		name := "KICKPLATE_" + strings.ToUpper(strings.ReplaceAll(f.Name, "-", "_"))
		if value := c.env(name); value != "" && !given[f.Name] && err == nil {
			if bad := fs.Set(f.Name, value); bad != nil {
				err = usagef("the environment sets %s to %q: %v.", name, value, bad)
			}
		}
	})
	return rest, err
}
