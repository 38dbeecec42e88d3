package main

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	firmware "govrig/firmware-notes"
	"govrig/protocol"
	"govrig/rig"
	"govrig/rig/link"
	"govrig/rig/link/flash"
)

type flashOptions struct {
	port    string
	avrdude string
	force   bool
}

func newFlashCommand(io streams) *cobra.Command {
	var o flashOptions
	c := &cobra.Command{
		Use:   "flash",
		Short: "Write the firmware to the board and check that it answers",
		Long: `Writes the firmware that this govrig carries to an ATmega328P board through its
serial boot loader, has it read back, and asks the board who it is. The writing
is done by avrdude, which must be installed; so must nothing else.

Switch the governor off first: while the board restarts its lines float. A board
on which another program talks is left alone unless --force is given, for what
is on it would be lost.

Exit codes: 0 written and answering, 2 wrong use or no avrdude, 3 no board, or
the writing failed, 4 stopped.`,
		Example: "  govrig flash\n  govrig flash --port COM4",
		Args:    cobra.NoArgs,
		RunE:    func(c *cobra.Command, _ []string) error { return flashBoard(c.Context(), io, o) },
	}
	c.Flags().StringVar(&o.port, "port", "", "serial port of the board (default: the one used last, else the only one on USB)")
	c.Flags().StringVar(&o.avrdude, "avrdude", "", "path of avrdude (default: from the PATH or the Arduino IDE's folders)")
	c.Flags().BoolVar(&o.force, "force", false, "write even where something else answers than a rig board or a boot loader")
	return c
}

func flashBoard(ctx context.Context, io streams, o flashOptions) error {
	image, err := flash.NewImage(firmware.Hex)
	if err != nil {
		return err
	}
	programmer, err := o.programmer()
	if err != nil {
		return err
	}
	device, err := o.device(ctx)
	if err != nil {
		return &exitError{code: exitNoBoard, err: err}
	}
	fmt.Fprintf(io.err, "Firmware %d.%d, %d bytes, CRC-32 %08x, for the board on %s.\n", firmware.Major, firmware.Minor, image.Size, image.CRC, device.Path)
	fmt.Fprintln(io.err, "The governor must be off: the board's lines float while it restarts. Looking who is there; that takes up to nine seconds.")
	baud, err := o.mayWrite(ctx, device)
	if err != nil {
		return stoppedOr(ctx, err)
	}
	fmt.Fprintf(io.err, "The boot loader answers at %d baud. Writing and reading back with %s; leave the board plugged in.\n", baud, programmer.Path)
	if err := programmer.Write(ctx, device.Path, baud, image); err != nil {
		if ctx.Err() != nil {
			err = errors.New("stopped: the board has no whole firmware now; run govrig flash again")
		}
		return stoppedOr(ctx, err)
	}
	if err := verify(ctx, device); err != nil {
		return stoppedOr(ctx, err)
	}
	link.Remember(device)
	fmt.Fprintf(io.out, "%s: firmware %d.%d written and read back; the board answers as a rig board\n", device.Path, firmware.Major, firmware.Minor)
	return nil
}

// programmer is the one that was named, or the one that is found.
func (o *flashOptions) programmer() (*flash.Programmer, error) {
	if o.avrdude == "" {
		return flash.Find()
	}
	return flash.At(o.avrdude)
}

func stoppedOr(ctx context.Context, err error) error {
	var exit *exitError
	switch {
	case ctx.Err() != nil:
		return &exitError{code: exitStopped, err: err}
	case errors.As(err, &exit):
		return err
	}
	return &exitError{code: exitNoBoard, err: err}
}

// device gives the port to write to: the one named, the one used last, or the
// only one on USB.
func (o *flashOptions) device(ctx context.Context) (link.Device, error) {
	devices, err := link.Devices(ctx)
	if err != nil && o.port == "" {
		return link.Device{}, err
	}
	if o.port != "" {
		return link.Named(devices, o.port), nil
	}
	if last, ok := link.Last(devices); ok {
		return last, nil
	}
	usb := link.OnUSB(devices)
	switch len(usb) {
	case 0:
		return link.Device{}, &link.NotFoundError{Driverless: link.Driverless()}
	case 1:
		return usb[0], nil
	}
	var paths []string
	for _, d := range usb {
		paths = append(paths, strings.TrimSpace(d.Path+" "+d.Chip()))
	}
	return link.Device{}, fmt.Errorf("there are several serial ports on USB (%s): name the board's with --port; unplug it and look with govrig ports --no-ask which one goes", strings.Join(paths, ", "))
}

// mayWrite finds out what is on the port and gives the speed of its boot
// loader. What is not known to be a rig board, or a board with nothing but a
// boot loader to say, is refused.
func (o *flashOptions) mayWrite(ctx context.Context, device link.Device) (baud int, err error) {
	a := link.Ask(ctx, device)
	if ctx.Err() != nil {
		return 0, ctx.Err()
	}
	var version *protocol.VersionError
	ours := a.Err == nil && a.Identity.Board == protocol.BoardMega328 || errors.As(a.Err, &version)
	foreign := a.Err == nil && !ours || errors.Is(a.Err, rig.ErrForeign)
	switch {
	case foreign && !o.force:
		return 0, &exitError{code: exitUsage, err: fmt.Errorf("something answers on %s that is no rig board for this firmware; "+
			"its program would be lost. If that is what you want: govrig flash --port %s --force", device.Path, device.Path)}
	case a.Boot != 0:
		return a.Boot, nil
	case !ours && !foreign && !errors.Is(a.Err, rig.ErrNoAnswer):
		return 0, a.Err
	}
	if baud = link.BootSpeed(ctx, device.Path); baud == 0 {
		err = fmt.Errorf("no boot loader answers on %s, at 115200 or 57600 baud: is it the right port, and has the board a boot loader? "+
			"A board that does not restart by itself wants its reset button pressed just after this command is started", device.Path)
	}
	return baud, err
}

// verify asks the board who it is after the writing.
func verify(ctx context.Context, device link.Device) error {
	a := link.Ask(ctx, device)
	if a.Err != nil {
		return fmt.Errorf("the firmware was written and read back, but the board does not answer: unplug it, plug it in, try govrig ports: %w", a.Err)
	}
	if id := a.Identity; id.FirmwareMajor != firmware.Major || id.FirmwareMinor != firmware.Minor {
		return fmt.Errorf("the board answers with firmware %d.%d after %d.%d was written", id.FirmwareMajor, id.FirmwareMinor, firmware.Major, firmware.Minor)
	}
	return nil
}
