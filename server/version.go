package main

import (
	"context"
	"fmt"
	"runtime/debug"
)

func version(_ context.Context, c console, args []string) error {
	fs := flags(c, "version", "", "Says which version this is and what it was built with.")
	rest, err := parse(c, fs, args)
	if err != nil {
		return err
	}
	if len(rest) > 0 {
		return usagef("version takes no arguments.")
	}
	text := "kickplate (unknown build)"
	if info, ok := debug.ReadBuildInfo(); ok {
		text = "kickplate " + info.Main.Version
		settings := map[string]string{}
		for _, s := range info.Settings {
			settings[s.Key] = s.Value
		}
		if rev := settings["vcs.revision"]; rev != "" {
			text += " " + rev[:min(12, len(rev))] + " " + settings["vcs.time"]
			if settings["vcs.modified"] == "true" {
				text += " with changes"
			}
		}
		text += ", " + info.GoVersion
	}
	_, err = fmt.Fprintln(c.out, text)
	return err
}
