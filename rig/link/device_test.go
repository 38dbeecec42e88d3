package link

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestDevicesListsWithoutError(t *testing.T) {
	all, err := Devices(context.Background())
	require.NoError(t, err)
	for _, d := range all {
		require.NotEmpty(t, d.Path)
	}
}

func TestDevicesStops(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	_, err := Devices(ctx)
	require.ErrorIs(t, err, context.Canceled)
}

func TestOnlyUSBIsAskedUnnamed(t *testing.T) {
	usb := Device{Path: "b", USB: true, Vendor: "1a86"}
	require.Equal(t, []Device{usb}, OnUSB([]Device{{Path: "a"}, usb}))
	require.Equal(t, "CH340", usb.Chip())
}

func TestMemory(t *testing.T) {
	one := Device{Path: "COM3", USB: true, Vendor: "0403", Product: "6001", Serial: "A1"}
	cheap := Device{Path: "COM4", USB: true, Vendor: "1A86", Product: "7523"}
	moved, other := one, one
	moved.Path, other.Serial = "COM9", "B2"
	swapped := one
	swapped.Path = cheap.Path
	for name, c := range map[string]struct {
		last   Device
		listed []Device
		want   string
	}{
		"where it was":                    {one, []Device{cheap, one}, "COM3"},
		"on another port, by its serial":  {one, []Device{cheap, moved}, "COM9"},
		"without a serial, by its port":   {cheap, []Device{one, cheap}, "COM4"},
		"another kind now on that port":   {cheap, []Device{swapped}, ""},
		"same kind, other serial":         {one, []Device{other}, "COM3"},
		"not there":                       {one, []Device{cheap}, ""},
		"named by its path alone, listed": {Device{Path: "COM4"}, []Device{one, cheap}, "COM4"},
	} {
		file := filepath.Join(t.TempDir(), "deep", "board.json")
		remember(file, c.last, 250_000)
		d, ok := recall(file).among(c.listed)
		require.Equal(t, c.want != "", ok, name)
		if ok {
			require.Equal(t, c.want, d.Path, name)
			require.Equal(t, []int{250_000, 500_000}, recall(file).speeds(c.last, 0), name)
			require.Equal(t, []int{500_000}, recall(file).speeds(c.last, 500_000), "the person's word counts")
		}
	}
}

// A path that the system does not list may still be a port.
func TestMemoryOfAnUnlistedPort(t *testing.T) {
	file := filepath.Join(t.TempDir(), "board.json")
	require.NoError(t, os.WriteFile(file+".port", nil, 0o644))
	remember(file, Device{Path: file + ".port"}, 0)
	d, ok := recall(file).among(nil)
	require.True(t, ok)
	require.Equal(t, Device{Path: file + ".port"}, d)
	require.NoError(t, os.Remove(file+".port"))
	_, ok = recall(file).among(nil)
	require.False(t, ok)
}

func TestBrokenMemoryIsNone(t *testing.T) {
	file := filepath.Join(t.TempDir(), "board.json")
	require.NoError(t, os.WriteFile(file, []byte(`{"port": 7`), 0o644))
	_, ok := recall(file).among([]Device{{Path: "COM3"}})
	require.False(t, ok)
	remember("", Device{Path: "COM3"}, 0) // nowhere to keep it
	_, ok = recall("").among([]Device{{Path: "COM3"}})
	require.False(t, ok)
}

// Each error of opening says what to do.
func TestAdvice(t *testing.T) {
	require.Contains(t, (&OpenError{Path: "COM3", Err: os.ErrNotExist}).Error(), "plug the board in")
	require.Contains(t, (&OpenError{Path: "COM3", Err: &InUseError{By: []string{"a", "b"}}}).Error(), "in use by a and b")
	require.Equal(t, "cannot open the port COM3: odd", (&OpenError{Path: "COM3", Err: errors.New("odd")}).Error())
}

func TestNotFoundTellsEverything(t *testing.T) {
	e := &NotFoundError{
		Answers:    []Answer{{Device: Device{Path: "COM3"}, Boot: 57_600, Err: errors.New("nobody home")}},
		Driverless: []string{"a USB device"},
	}
	require.Contains(t, e.Error(), "COM3: nobody home; a boot loader answers, at 57600 baud: govrig flash --port COM3")
	require.Contains(t, e.Error(), "a USB device")
}

// A speed is remembered of one board and of no other.
func TestSpeedsToTry(t *testing.T) {
	fast := []int{500_000, 250_000}
	board := Device{Path: "COM3", Vendor: "1A86", Product: "7523"}
	require.Equal(t, fast, memory{}.speeds(board, 0))
	require.Equal(t, fast, memory{}.speeds(Device{}, 0))
	slow := memory{Port: "COM3", Vendor: "1A86", Product: "7523", Baud: 250_000}
	require.Equal(t, []int{250_000, 500_000}, slow.speeds(board, 0))
	require.Equal(t, fast, slow.speeds(Device{Path: "COM4", Vendor: "1A86", Product: "7523"}, 0))
	require.Equal(t, fast, slow.speeds(Device{Path: "COM3", Vendor: "2341"}, 0))
}
