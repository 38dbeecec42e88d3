package main

import (
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"govrig": main})
}

// Each script in testdata/script is a person at a terminal.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script",
		Setup: func(e *testscript.Env) error {
			e.Setenv("MACHINES", e.Getenv("WORK")+"/machines")
			return copyMachines(e.Getenv("WORK") + "/machines")
		},
	})
}
