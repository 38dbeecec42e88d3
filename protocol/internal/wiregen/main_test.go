package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// The files in the tree are what messages.go says today.
func TestGeneratedFilesAreUpToDate(t *testing.T) {
	const root = "../../.."
	files, err := outputs(root)
	require.NoError(t, err)
	require.Len(t, files, 3)
	for name, want := range files {
		got, err := os.ReadFile(filepath.Join(root, name))
		require.NoError(t, err)
		require.Equal(t, string(want), string(got), "%s is out of date: run go generate ./protocol", name)
	}
}

func TestNames(t *testing.T) {
	for name, want := range map[string]string{
		"PickupWidthTicks": "pickup_width_ticks",
		"TickHz":           "tick_hz",
		"BoardMega328":     "board_mega328",
		"FaultsLen":        "faults_len",
		"CRCHigh":          "crc_high",
	} {
		require.Equal(t, want, lower(name))
	}
	require.Equal(t, "WIRE_OPTION_PICKUP_LOW", cConstant("OPTION", "OptionPickupLow"))
	require.Equal(t, "WIRE_PROTOCOL_VERSION", cConstant("PROTOCOL", "Version"))
}

// A slip in messages.go is refused, not generated.
func TestBadSchemas(t *testing.T) {
	for name, source := range map[string]string{
		"width":     "//wire:message 0x01 host\ntype A struct {\n\tB uint8 `wire:\"u9\"`\n}",
		"type":      "//wire:message 0x01 host\ntype A struct {\n\tB uint8 `wire:\"u16\"`\n}",
		"tag":       "//wire:message 0x01 host\ntype A struct {\n\tB uint8\n}",
		"sender":    "//wire:message 0x01 moon\ntype A struct {}",
		"twice":     "//wire:message 0x01 host\ntype A struct {}\n\n//wire:message 0x01 host\ntype B struct {}",
		"list":      "//wire:message 0x01 host\ntype A struct {\n\tB [2]C `wire:\"list\"`\n}",
		"directive": "//wire:massage 0x01 host\ntype A struct {}",
	} {
		path := filepath.Join(t.TempDir(), "messages.go")
		require.NoError(t, os.WriteFile(path, []byte("package p\n\n"+source+"\n"), 0o644))
		_, err := parseSchema(path)
		require.Error(t, err, name)
	}
}
