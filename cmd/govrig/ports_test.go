package main

import (
	"encoding/json"
	"fmt"
	"path/filepath"
	"regexp"
	"testing"

	"github.com/stretchr/testify/require"

	firmware "govrig/firmware-notes"
	"govrig/protocol"
	"govrig/rig/link/survey"
)

// carried is the version of the firmware that the program carries.
var carried = fmt.Sprintf("%d.%d", firmware.Major, firmware.Minor)

// The firmware behind a pseudo-terminal is told from a port that is not there.
func TestPortsAsksTheFirmware(t *testing.T) {
	t.Setenv("XDG_CONFIG_HOME", t.TempDir())
	path := emulate(t, root+"/testdata/machines/medium-15cc.yaml")
	missing := filepath.Join(t.TempDir(), "ttyUSB9")
	code, out, _ := command("", "ports", path, missing)
	require.Equal(t, exitPass, code)
	require.Regexp(t, path+` +rig board, firmware `+regexp.QuoteMeta(carried)+`, wire version 3, 500000 baud, EMULATED\n`, out)
	require.Regexp(t, missing+` +no such port\n.*plug the board in`, out)

	code, out, complaints := command("", "ports", "--json", path, missing)
	require.Equal(t, exitPass, code)
	require.Contains(t, complaints, "Asking who is there")
	var doc survey.Table
	require.NoError(t, json.Unmarshal([]byte(out), &doc))
	require.Equal(t, survey.Schema, doc.Schema)
	require.Len(t, doc.Ports, 2)
	require.Equal(t, survey.Entry{Port: path, Answer: survey.Rig, Baud: 500_000, Firmware: carried, Wire: protocol.Version, Emulated: true}, doc.Ports[0])
	require.Equal(t, survey.Missing, doc.Ports[1].Answer)
}

func TestPortsNoneAnswers(t *testing.T) {
	code, out, _ := command("", "ports", filepath.Join(t.TempDir(), "nothing"))
	require.Equal(t, exitNoBoard, code)
	require.Contains(t, out, "no such port")
}
