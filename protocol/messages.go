package protocol

// Version is the version of the wire. It changes with any change of a layout
// or of a meaning.
//
//wire:const PROTOCOL
const Version = 3

// Numbers of items a message may carry.
//
//wire:const MAX
const (
	// MaxPulses is how many captured pulses one Telemetry can carry.
	MaxPulses = 4
	// MaxEdges is how many pickup edges one Edges can carry.
	MaxEdges = 7
	// MaxFaults is how many faults one Drive can order.
	MaxFaults = 2
	// MaxPayload is the longest message in bytes, with room to grow.
	MaxPayload = 64
)

// Speeds of the serial line, baud; 8 bits, no parity, one stop bit. The board
// starts at the fast one. Outside a session (before Configure, after Stop or a
// failsafe) bytes that make no good frame have it change to the other. Zero
// bytes before a frame are hailing: at the right speed they are empty frames and
// mean nothing, at the wrong one they are such bytes.
//
//wire:const BAUD
const (
	BaudFast = 500_000
	BaudSlow = 250_000
	// BaudHail is how many zero bytes have it change for certain, with many to
	// spare.
	BaudHail = 256
)

// Identify asks the board who it is. It may be sent at any time and changes
// nothing else on the board.
//
//wire:message 0x01 host
type Identify struct {
	// Protocol is the version that the host speaks.
	Protocol uint8 `wire:"u8"`
}

// Configure sets up a session: the board goes to its safe state, takes the
// settings, and starts to send Telemetry. The board answers with Configured.
//
//wire:message 0x02 host
type Configure struct {
	// Sequence comes back in the answer.
	Sequence uint8 `wire:"u8"`
	// Options is a set of the Option bits.
	Options uint8 `wire:"u8"`
	// TelemetryTicks is the time from one telemetry frame to the next.
	TelemetryTicks uint32 `wire:"u24"`
	// FailsafeTicks is how long the board plays on without a Drive.
	FailsafeTicks uint32 `wire:"u24"`
	// PickupWidthTicks is the width of a pickup pulse.
	PickupWidthTicks uint16 `wire:"u16"`
	// ServoPeriodTicks is the time from one stick pulse to the next, and from
	// one select pulse to the next.
	ServoPeriodTicks uint32 `wire:"u24"`
	// SafeStickTicks is the stick width played in the safe state; 0 leaves the
	// stick line low.
	SafeStickTicks uint16 `wire:"u16"`
}

// Bits of Configure.Options.
//
//wire:const OPTION
const (
	// OptionPickupLow plays pickup pulses as low on a high line.
	OptionPickupLow = 1 << 0
	// OptionCaptureProbe times the pickup probe in place of the throttle line.
	OptionCaptureProbe = 1 << 1
	// OptionCaptureLow times low pulses on a high line.
	OptionCaptureLow = 1 << 2
)

// Drive says what to play next. Every Telemetry is answered with one.
//
//wire:message 0x03 host
type Drive struct {
	// Sequence comes back in Telemetry.AppliedDrive.
	Sequence uint8 `wire:"u8"`
	// Flags is a set of the Drive bits.
	Flags uint8 `wire:"u8"`
	// EdgeTicks is the tick of the next pickup edge. When that edge has been
	// sent already (it lies within half a period of the last one sent), or
	// lies in the past, the board goes on at whole periods after it.
	EdgeTicks uint32 `wire:"u32"`
	// PeriodTicks, PeriodFraction of 1/256 tick more, is the time from that edge
	// to the one after.
	PeriodTicks    uint32 `wire:"u24"`
	PeriodFraction uint8  `wire:"u8"`
	// ChangeFraction, in 1/256 tick and two's complement, is how much longer each
	// time is than the one before, until the next Drive: a board without news
	// goes on speeding up or slowing down.
	ChangeFraction uint32 `wire:"u24"`
	// StickTicks is the width of the stick pulse; 0 leaves the line low.
	StickTicks uint16 `wire:"u16"`
	// SelectTicks is the width of the select pulse; 0 leaves the line low.
	SelectTicks uint16 `wire:"u16"`
	// Faults are acted on once, when the Drive is applied.
	Faults [MaxFaults]Fault `wire:"list"`
	// FaultsLen is how many of Faults are meant.
	FaultsLen int
}

// Bits of Drive.Flags.
//
//wire:const DRIVE
const (
	// DrivePlay plays pickup pulses; without it the pickup line idles.
	DrivePlay = 1 << 0
)

// Fault is something wrong with the pickup, done on purpose.
//
//wire:item
type Fault struct {
	// Kind is one of the Fault kinds.
	Kind uint8 `wire:"u8"`
	// Value is explained at the kind.
	Value uint16 `wire:"u16"`
}

// Kinds of Fault.
//
//wire:const FAULT
const (
	// FaultDrop leaves out the next Value pulses, after those still to be left
	// out by earlier orders: orders add up.
	FaultDrop = 1
	// FaultStray adds one pulse, Value microseconds after the next pickup
	// edge, where it does not touch a regular pulse. It takes the place of an
	// earlier one that has not been played yet.
	FaultStray = 2
)

// Stop orders the safe state: no pickup pulses, stick at its safe width. The
// board answers with one Telemetry that has TelemetrySafe set, then is quiet, and
// a Drive does nothing until the next Configure.
//
//wire:message 0x04 host
type Stop struct{}

// Identity tells who the board is. It answers Identify.
//
//wire:message 0x81 board
type Identity struct {
	// Protocol is the version that the firmware speaks.
	Protocol uint8 `wire:"u8"`
	// Board is one of the Board kinds.
	Board uint8 `wire:"u8"`
	// FirmwareMajor and FirmwareMinor are the firmware's own version.
	FirmwareMajor uint8 `wire:"u8"`
	FirmwareMinor uint8 `wire:"u8"`
	// ResetCause is the set of the Reset bits that the chip found at its start.
	ResetCause uint8 `wire:"u8"`
	// Marks is a set of the Mark bits.
	Marks uint8 `wire:"u8"`
	// Nonce differs from one start of the board to the next.
	Nonce uint32 `wire:"u32"`
	// TickHz is the board's nominal tick rate.
	TickHz uint32 `wire:"u32"`
	// MinWidthTicks and MaxWidthTicks bound the width of a pickup pulse.
	MinWidthTicks uint16 `wire:"u16"`
	MaxWidthTicks uint16 `wire:"u16"`
	// MinPeriodTicks and MaxPeriodTicks bound the pickup period.
	MinPeriodTicks uint16 `wire:"u16"`
	MaxPeriodTicks uint32 `wire:"u24"`
	// MinTelemetryTicks is the shortest telemetry period.
	MinTelemetryTicks uint16 `wire:"u16"`
	// MinFailsafeTicks and MaxFailsafeTicks bound the failsafe time.
	MinFailsafeTicks uint32 `wire:"u24"`
	MaxFailsafeTicks uint32 `wire:"u24"`
	// MaxServoTicks is the widest stick or select pulse.
	MaxServoTicks uint16 `wire:"u16"`
	// MinServoPeriodTicks is the shortest stick and select frame.
	MinServoPeriodTicks uint16 `wire:"u16"`
}

// Kinds of board, in Identity.Board.
//
//wire:const BOARD
const (
	// BoardMega328 is the firmware of firmware-notes, at 16 MHz.
	BoardMega328 = 1
	// BoardVirtual is the board inside the host program. No wire leaves it.
	BoardVirtual = 2
)

// Bits of Identity.Marks.
//
//wire:const MARK
const (
	// MarkEmulated says that the firmware found itself in an emulator: there
	// is no chip and no wire.
	MarkEmulated = 1 << 0
)

// Bits of Identity.ResetCause.
//
//wire:const RESET
const (
	// ResetPowerOn is a start with the supply.
	ResetPowerOn = 1 << 0
	// ResetExternal is the reset pin, which most boards pulse when the port
	// is opened.
	ResetExternal = 1 << 1
	// ResetBrownOut is a dip of the supply.
	ResetBrownOut = 1 << 2
	// ResetWatchdog is the watchdog: the firmware had hung.
	ResetWatchdog = 1 << 3
)

// Configured answers Configure.
//
//wire:message 0x82 board
type Configured struct {
	// Sequence is that of the Configure it answers.
	Sequence uint8 `wire:"u8"`
	// Refused is 0 when the board took the settings, else one of the Refused
	// reasons; it then took none of them.
	Refused uint8 `wire:"u8"`
}

// Reasons in Configured.Refused.
//
//wire:const REFUSED
const (
	// RefusedTelemetry is a telemetry period out of range.
	RefusedTelemetry = 1
	// RefusedFailsafe is a failsafe time out of range.
	RefusedFailsafe = 2
	// RefusedWidth is a pickup width out of range.
	RefusedWidth = 3
	// RefusedServo is a servo period or safe stick width out of range.
	RefusedServo = 4
)

// Telemetry tells what the board played and saw since the last one.
//
//wire:message 0x83 board
type Telemetry struct {
	// Sequence counts frames.
	Sequence uint8 `wire:"u8"`
	// Ticks is the moment the frame was made.
	Ticks uint32 `wire:"u32"`
	// PickupCount counts the pickup pulses sent, stray ones too.
	PickupCount uint8 `wire:"u8"`
	// PickupTicks is the moment of the leading edge of the newest of them.
	PickupTicks uint32 `wire:"u24"`
	// AppliedDrive is the Sequence of the newest Drive applied.
	AppliedDrive uint8 `wire:"u8"`
	// AppliedTicks is the moment it was applied.
	AppliedTicks uint32 `wire:"u24"`
	// BadFrames counts frames with a wrong check or form.
	BadFrames uint8 `wire:"u8"`
	// Overruns counts bytes lost in the receiver.
	Overruns uint8 `wire:"u8"`
	// LateEdges counts edges that could not be made at their tick.
	LateEdges uint8 `wire:"u8"`
	// LostCaptures counts captured pulses that did not fit or had no end.
	LostCaptures uint8 `wire:"u8"`
	// Flags is a set of the Telemetry bits.
	Flags uint8 `wire:"u8"`
	// Pulses are the pulses captured since the last frame, oldest first.
	Pulses [MaxPulses]Pulse `wire:"list"`
	// PulsesLen is how many of Pulses are meant.
	PulsesLen int
}

// Edges comes just before a Telemetry in whose time more than one pickup pulse was
// sent, and tells of all but the newest, which the Telemetry tells.
//
//wire:message 0x85 board
type Edges struct {
	// Sequence is that of the Telemetry.
	Sequence uint8 `wire:"u8"`
	// Edges are the leading edges, oldest first; the oldest are left out where
	// there are more.
	Edges [MaxEdges]Edge `wire:"list"`
	// EdgesLen is how many of Edges are meant.
	EdgesLen int
}

// Edge is one leading edge of a pickup pulse that was sent.
//
//wire:item
type Edge struct {
	// Ticks is its moment.
	Ticks uint32 `wire:"u24"`
}

// Levels tells between which levels the pickup probe was since the last one. In a
// session that times the probe it comes after every LevelsEvery-th Telemetry.
// A level is 0 to 1023, in 1/1024 of the board's supply.
//
//wire:message 0x84 board
type Levels struct {
	// Lowest is the lowest level that was seen.
	Lowest uint16 `wire:"u16"`
	// Highest is the highest. Short pulses may be missed: the board looks about
	// every 0.1 ms.
	Highest uint16 `wire:"u16"`
}

// How often Levels comes.
//
//wire:const LEVELS
const (
	// LevelsEvery is how many Telemetry frames there are to one Levels.
	LevelsEvery = 16
	// LevelsScale is the level of the board's supply.
	LevelsScale = 1024
)

// Bits of Telemetry.Flags.
//
//wire:const TELEMETRY
const (
	// TelemetryPlaying: pickup pulses are being played.
	TelemetryPlaying = 1 << 0
	// TelemetrySafe: the board is in its safe state, after a Stop, after a
	// failsafe, or since Configure while no Drive has come. After a failsafe
	// only Configure ends it.
	TelemetrySafe = 1 << 1
	// TelemetryFailsafe: the safe state came from the failsafe time.
	TelemetryFailsafe = 1 << 2
	// TelemetryDriven: a Drive has been applied since Configure.
	TelemetryDriven = 1 << 3
	// TelemetryCaptureHigh: the captured line is high now.
	TelemetryCaptureHigh = 1 << 4
)

// Pulse is one pulse timed by the board.
//
//wire:item
type Pulse struct {
	// StartTicks is the moment of its leading edge.
	StartTicks uint32 `wire:"u24"`
	// WidthTicks is the time to its trailing edge.
	WidthTicks uint32 `wire:"u24"`
}
