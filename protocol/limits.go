package protocol

// The rate of the board's clock. Whatever is named Ticks counts it.
//
//wire:const TICK
const (
	// TickHz is the nominal rate, 1/s.
	TickHz = 16_000_000
)

// The least that a board can do. It tells them in Identity.
//
//wire:const MIN
const (
	// MinWidthTicks is the shortest pulse on any line, and the shortest gap
	// between two: 100 µs.
	MinWidthTicks = 1_600
	// MinPeriodTicks is the shortest pickup period: 2000 pulses a second.
	MinPeriodTicks = 8_000
	// MinTelemetryTicks is the shortest telemetry period: 1000 frames a second.
	MinTelemetryTicks = 16_000
	// MinFailsafeTicks is the shortest failsafe time: 10 ms.
	MinFailsafeTicks = 160_000
	// MinServoPeriodTicks is the shortest stick and select frame: 3 ms.
	MinServoPeriodTicks = 48_000
)

// The most that a board can do.
//
//wire:const MAX
const (
	// MaxWidthTicks is the widest pickup pulse: 4 ms.
	MaxWidthTicks = 64_000
	// MaxPeriodTicks is the longest pickup period: 2 pulses a second.
	MaxPeriodTicks = 8_000_000
	// MaxFailsafeTicks is the longest failsafe time: 1 s.
	MaxFailsafeTicks = 16_000_000
	// MaxServoTicks is the widest stick or select pulse: 2.5 ms.
	MaxServoTicks = 40_000
	// MaxServoPeriodTicks is the longest stick and select frame: 50 ms.
	MaxServoPeriodTicks = 800_000
)
