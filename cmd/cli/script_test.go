package cli_test

import (
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"github.com/shuntwright/shuntwright/cmd/cli"
	"github.com/shuntwright/shuntwright/rules/builtin"
	"github.com/shuntwright/shuntwright/rules/house"
)

func TestMain(m *testing.M) {
	if len(os.Args) == 2 && os.Args[1] == house.Word { // the test binary starts itself to run house rules, as the program does
		os.Exit(cli.Main(os.Args[1:], cli.Standard()))
	}
	testscript.Main(m, map[string]func(){
		"shuntwright": func() { os.Exit(cli.Main(os.Args[1:], cli.Standard(), builtin.All...)) },
	})
}

// TestScripts runs the command line as people do. Each script finds a sound deck with its records and intent in the
// folder winch. UPDATE=1 in the environment rewrites what they compare with.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 filepath.Join("..", "..", "testdata", "script"),
		UpdateScripts:       os.Getenv("UPDATE") != "",
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Setup: func(e *testscript.Env) error {
			return os.CopyFS(filepath.Join(e.WorkDir, "winch"), os.DirFS(filepath.Join("..", "..", "testdata", "script", "winch")))
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"exits": exits},
	})
}

// exits runs the program and holds it to one exit code: "exits 2 lint lost.cir".
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 1 {
		ts.Fatalf("usage: exits CODE ARGUMENT...")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	if err := ts.Exec("shuntwright", args[1:]...); err != nil {
		var exit *exec.ExitError
		if !errors.As(err, &exit) {
			ts.Fatalf("%v", err)
		}
		got = exit.ExitCode()
	}
	if got != want {
		ts.Fatalf("exit code %d, want %d", got, want)
	}
}
