package main

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"os"
	"strings"

	"kickplate/claims"
	"kickplate/rules"
	"kickplate/rules/packs"
)

// rulesTest runs the example cases that every pack carries.
func rulesTest(_ context.Context, c console, args []string) error {
	fs := flags(c, "rules test", "[DIR]", `
Runs the example cases of the rule packs that come with Kickplate and, with DIR, of the shop's own packs in that folder. A
mistake in a pack is named with its file and line. Exit code 1 when a pack can't be used or a case comes out otherwise than it says.`)
	rest, err := parse(c, fs, args)
	if err != nil {
		return err
	}
	if len(rest) > 1 {
		return usagef("rules test takes one folder at most.")
	}
	set, err := packs.Default()
	if len(rest) == 1 {
		if info, statErr := os.Stat(rest[0]); statErr != nil || !info.IsDir() {
			return fmt.Errorf("there is no folder %s with rule packs", rest[0])
		}
		set, err = packs.WithShop(os.DirFS(rest[0]))
	}
	if err != nil {
		return err
	}
	ok, err := packs.RunCases(c.out, set)
	if err == nil && !ok {
		err = errBroken
	}
	return err
}

// theOperator is who works on the machine itself.
func theOperator() claims.Actor {
	return claims.Actor{Shop: theShop, Person: "operator", Role: claims.Owner, Device: "console"}
}

// rulesExplain says for one job what each requirement came to and which line of which pack asks for it.
func rulesExplain(ctx context.Context, c console, args []string) error {
	var data, packFolder string
	fs := flags(c, "rules explain", "JOB [--data DIR]", `
Checks one job, named by its id or its number, and says for each requirement of its rule pack what it came to, why, and which line of
which pack asks for it. The server must not be running on the same data folder.`)
	dataFlag(fs, &data)
	fs.StringVar(&packFolder, "packs", "", "a `folder` with rule packs of the shop's own (DATA/packs when not given)")
	rest, err := parse(c, fs, args)
	if err != nil {
		return err
	}
	if len(rest) != 1 {
		return usagef("rules explain takes one job: its id or its number.")
	}
	if packFolder == "" {
		packFolder = data + "/packs"
	}
	b, err := openBackend(data, packFolder, false, quiet(c))
	if err != nil {
		return err
	}
	defer b.close()
	job, err := findJob(ctx, b, rest[0])
	if err != nil {
		return sentence(err)
	}
	checked, err := b.service.Check(ctx, theOperator(), job)
	if err != nil {
		return sentence(err)
	}
	return explain(c.out, checked)
}

func quiet(c console) *slog.Logger {
	return slog.New(slog.NewTextHandler(c.err, &slog.HandlerOptions{Level: slog.LevelError}))
}

// sentence shows a person the sentence of a claims.Error without its code.
func sentence(err error) error {
	if claims.CodeOf(err) == "" {
		return err
	}
	_, says, ok := strings.Cut(err.Error(), string(claims.CodeOf(err))+": ")
	if !ok {
		return err
	}
	return fmt.Errorf("%s", says)
}

func findJob(ctx context.Context, b *backend, text string) (claims.JobID, error) {
	if claims.ValidID(text) {
		return claims.JobID(text), nil
	}
	page, err := b.service.Jobs(ctx, theOperator(), claims.CardQuery{Key: "number", Value: claims.FoldKey(text), Limit: 2})
	if err != nil {
		return "", err
	}
	switch len(page.Cards) {
	case 0:
		return "", fmt.Errorf("there is no job with the id or number %q in this data folder", text)
	case 1:
		return page.Cards[0].Job, nil
	}
	return "", fmt.Errorf("several jobs have the number %q; name one by its id", text)
}

func explain(w io.Writer, checked claims.Checked) error {
	var s strings.Builder
	r := checked.Report
	fmt.Fprintf(&s, "Job %s, checked by %s %s (%s)\n", checked.Job.ID, r.Pack, r.Version, r.Title)
	asked := map[string]rules.Requirement{}
	for _, q := range checked.Pack.Pack().Requirements {
		asked[q.ID] = q
	}
	stage := ""
	for _, f := range r.Findings {
		if f.Stage != stage {
			stage = f.Stage
			fmt.Fprintf(&s, "\n%s\n", stage)
		}
		mark := string(f.Outcome)
		if f.Severity == rules.Advised {
			mark += " (advised)"
		}
		fmt.Fprintf(&s, "  %-20s %s\n  %-20s   %s\n", mark, f.Title, "", f.Sentence)
		if f.Cure != "" {
			fmt.Fprintf(&s, "  %-20s   cure: %s\n", "", f.Cure)
		}
		if len(f.Entries) > 0 {
			fmt.Fprintf(&s, "  %-20s   by: %s\n", "", strings.Join(f.Entries, ", "))
		}
		fmt.Fprintf(&s, "  %-20s   asked by %s, %s\n", "", f.ID, asked[f.Requirement].Origin)
	}
	verdict := "The claim is complete."
	if !r.Complete {
		verdict = fmt.Sprintf("The claim is not complete: %d required findings are open.", r.Counts.Open)
	}
	fmt.Fprintf(&s, "\n%s\n", verdict)
	_, err := io.WriteString(w, s.String())
	return err
}
