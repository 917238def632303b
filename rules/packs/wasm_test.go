package packs

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/imports/wasi_snapshot_preview1"

	"kickplate/rules"
)

// Every example case gives the same report, wants and explanations in WebAssembly as here, byte for byte. The module runs in an
// independent WebAssembly runtime; it has its own time zones, as the phone has.
func TestReportsAreTheSameInWebAssembly(t *testing.T) {
	type job struct {
		Pack  *rules.Pack   `json:"pack"`
		Facts []rules.Facts `json:"facts"`
	}
	var jobs []job
	for _, p := range defaults(t).All() {
		j := job{Pack: p.Pack()}
		for i := range p.Cases {
			j.Facts = append(j.Facts, p.Cases[i].Facts)
		}
		jobs = append(jobs, j)
	}
	in, err := json.Marshal(jobs)
	require.NoError(t, err)

	// Here: through the same JSON, so that times carry the same offsets.
	var back []job
	require.NoError(t, json.Unmarshal(in, &back))
	var want bytes.Buffer
	enc := json.NewEncoder(&want)
	for _, j := range back {
		c, err := rules.Compile(j.Pack)
		require.NoError(t, err)
		for i := range j.Facts {
			for _, v := range []any{rules.Check(c, &j.Facts[i]), rules.Wanted(c, &j.Facts[i]), rules.Explain(c, &j.Facts[i])} {
				require.NoError(t, enc.Encode(v))
			}
		}
	}

	module := filepath.Join(t.TempDir(), "report.wasm")
	build := exec.Command("go", "build", "-tags", "timetzdata", "-o", module, "../../testdata/rules/report")
	build.Env = append(os.Environ(), "GOOS=wasip1", "GOARCH=wasm", "CGO_ENABLED=0")
	out, err := build.CombinedOutput()
	require.NoError(t, err, "build the WebAssembly module: %s", out)
	code, err := os.ReadFile(module)
	require.NoError(t, err)

	ctx := context.Background()
	runtime := wazero.NewRuntime(ctx)
	defer func() { assert.NoError(t, runtime.Close(ctx)) }()
	wasi_snapshot_preview1.MustInstantiate(ctx, runtime)
	var got, complaints bytes.Buffer
	config := wazero.NewModuleConfig().WithStdin(bytes.NewReader(in)).WithStdout(&got).WithStderr(&complaints).WithArgs("report")
	_, err = runtime.InstantiateWithConfig(ctx, code, config)
	require.NoError(t, err, complaints.String())

	require.Positive(t, want.Len())
	if !bytes.Equal(want.Bytes(), got.Bytes()) {
		a, b := bytes.Split(want.Bytes(), []byte("\n")), bytes.Split(got.Bytes(), []byte("\n"))
		for i := range min(len(a), len(b)) {
			require.Equal(t, string(a[i]), string(b[i]))
		}
		require.Len(t, b, len(a))
	}
}
