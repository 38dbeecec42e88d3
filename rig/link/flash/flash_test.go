package flash

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	firmware "govrig/firmware-notes"
)

func TestTheFirmwareIsSound(t *testing.T) {
	image, err := NewImage(firmware.Hex)
	require.NoError(t, err)
	require.Greater(t, image.Size, 2_000)
}

// The example record of Intel's "Hexadecimal Object File Format
// Specification", revision A, 1988, as it is quoted everywhere (from memory):
// :10010000214601360121470136007EFE09D2190140. Here moved to address 0, the
// checksum with it.
func TestImage(t *testing.T) {
	const record, end = ":10000000214601360121470136007EFE09D2190141\n", ":00000001FF\n"
	image, err := NewImage([]byte(record + end))
	require.NoError(t, err)
	require.Equal(t, 16, image.Size)
	for name, hex := range map[string]string{
		"damaged":  strings.Replace(record, "7EFE", "7EFF", 1) + end,
		"cut off":  record[:20],
		"not at 0": ":10010000214601360121470136007EFE09D2190140\n" + end,
		"two":      record + ":10010000214601360121470136007EFE09D2190140\n" + end,
		"empty":    end,
		"nothing":  "",
		"no hex":   "firmware\n",
	} {
		_, err := NewImage([]byte(hex))
		require.Error(t, err, name)
	}
}

// CRC-32 of "123456789" is CBF43926 (the catalogue of parametrised CRC
// algorithms by G. Cook).
func TestImageCRC(t *testing.T) {
	image, err := NewImage([]byte(":0900000031323334353637383" + "91A\n:00000001FF\n"))
	require.NoError(t, err)
	require.EqualValues(t, 0xCBF43926, image.CRC)
}

// Every single wrong digit of the firmware is found.
func TestEveryWrongDigitIsFound(t *testing.T) {
	lines := bytes.SplitAfter(firmware.Hex, []byte("\n"))
	short := bytes.Join(append(lines[:3:3], []byte(":00000001FF\n")), nil)
	_, err := NewImage(short)
	require.NoError(t, err)
	for i, c := range short {
		if c == ':' || c == '\n' || c == '\r' {
			continue
		}
		wrong := bytes.Clone(short)
		wrong[i] = map[bool]byte{true: '1', false: '0'}[c == '0']
		_, err := NewImage(wrong)
		require.Error(t, err, "digit %d", i)
	}
}

func TestTooLarge(t *testing.T) {
	var hex strings.Builder
	for at := 0; at <= maxSize; at += 16 {
		sum := 16 + at>>8 + at
		fmt.Fprintf(&hex, ":10%04X00%032d%02X\n", at, 0, byte(-sum))
	}
	hex.WriteString(":00000001FF\n")
	_, err := NewImage([]byte(hex.String()))
	require.ErrorContains(t, err, "room for 30720")
}

func TestFolders(t *testing.T) {
	env := func(name string) string { return map[string]string{"HOME": "/h", "LOCALAPPDATA": "C:/l"}[name] }
	for system, want := range map[string]string{
		"linux":   "/h/.arduino15/packages/arduino/tools/avrdude/*/bin/avrdude",
		"darwin":  "/h/Library/Arduino15/packages/arduino/tools/avrdude/*/bin/avrdude",
		"windows": "C:/l/Arduino15/packages/arduino/tools/avrdude/*/bin/avrdude.exe",
	} {
		require.Contains(t, folders(system, env), filepath.FromSlash(want))
	}
	require.Len(t, folders("windows", env), 1, "folders that the system does not name are left out")
}

func TestMissingSaysWhatToInstall(t *testing.T) {
	for system, want := range map[string]string{
		"linux": "sudo apt install avrdude", "darwin": "brew install avrdude",
		"windows": "winget install AVRDudes.AVRDUDE", "plan9": "install avrdude",
	} {
		require.ErrorContains(t, &MissingError{System: system}, want)
	}
}

// avrdude itself, on a port that is none.
func TestWriteFails(t *testing.T) {
	p, err := Find()
	require.NoError(t, err, "the tests need avrdude: see .ci/test")
	image, err := NewImage(firmware.Hex)
	require.NoError(t, err)
	err = p.Write(context.Background(), filepath.Join(t.TempDir(), "no-port"), 115_200, image)
	var failed *WriteError
	require.ErrorAs(t, err, &failed)
	require.Contains(t, failed.Output, "no-port")

	ctx, stop := context.WithCancel(context.Background())
	stop()
	require.ErrorIs(t, p.Write(ctx, "/dev/null", 115_200, image), context.Canceled)
}

// What avrdude says of another chip is put into plain words; it is quoted here
// from version 7.1.
func TestWrongChip(t *testing.T) {
	err := &WriteError{Err: os.ErrInvalid, Output: "avrdude error: expected signature for ATmega168 is 1E 94 06"}
	require.ErrorContains(t, err, "no ATmega328P")
}
