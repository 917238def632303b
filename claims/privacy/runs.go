package privacy

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"

	"kickplate/claims"
)

// runsOf are the last records of runs, newest first. Older ones stay in the notes.
func runsOf(ctx context.Context, st claims.Store) ([]Run, error) {
	runs := []Run{}
	var broken error
	err := st.Notes(ctx, notesRuns, func(name string, value []byte) bool {
		var r Run
		if broken = json.Unmarshal(value, &r); broken != nil {
			broken = fmt.Errorf("read note %s: %w", name, broken)
			return false
		}
		if runs = append(runs, r); len(runs) > mostRuns {
			runs = runs[1:]
		}
		return true
	})
	if err == nil {
		err = broken
	}
	slices.Reverse(runs)
	return runs, err
}
