package emulator

import (
	"encoding/binary"
	"io"
)

// Stats is what the harness has counted since power-on. Two of them give the
// counts of the time between.
type Stats struct {
	Ticks          int64 // since power-on
	InterruptTicks int64 // spent in interrupts, from entry to return
	SleepTicks     int64
	BytesReceived  int64 // by the board, those with a frame error too
	Overruns       int64 // bytes lost in the board's receiver
	FrameErrors    int64 // bytes without a stop bit
	Resets         int   // by the watchdog and by Reset
	LowestStack    int   // lowest value of the stack pointer at a call, push or interrupt
	Vectors        []VectorStats
}

// VectorStats is about one interrupt vector; its index is the vector's number.
type VectorStats struct {
	Entries      int64
	Ticks        int64 // from entry to return, interrupts nested within included
	LongestTicks int64 // the most of them in one go
	LatestTicks  int64 // longest wait from the request to the entry
}

// InterruptLoad is the share of the time from then to s spent in interrupts.
func (s Stats) InterruptLoad(then Stats) float64 {
	return float64(s.InterruptTicks-then.InterruptTicks) / float64(s.Ticks-then.Ticks)
}

const (
	statsBytes  = 9 + 5*8 + 4 + 2 + 1
	vectorBytes = 24
)

// Stats asks the harness for its counts.
func (b *Board) Stats() (Stats, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.send('T')
	if b.err == nil {
		b.fail(b.harness.flush())
	}
	if b.err != nil {
		return Stats{}, b.err
	}
	s, err := b.harness.stats()
	b.fail(err)
	return s, err
}

func (h *harness) stats() (Stats, error) {
	first, err := h.out.Peek(1)
	if err != nil {
		return Stats{}, h.broken(err)
	}
	if first[0] != 's' {
		_, err := h.event()
		return Stats{}, err
	}
	var b [statsBytes]byte
	if _, err := io.ReadFull(h.out, b[:]); err != nil {
		return Stats{}, h.broken(err)
	}
	at := func(i int) int64 { return int64(binary.LittleEndian.Uint64(b[i:])) }
	s := Stats{
		Ticks: at(1), InterruptTicks: at(9), SleepTicks: at(17),
		BytesReceived: at(25), Overruns: at(33), FrameErrors: at(41),
		Resets:      int(binary.LittleEndian.Uint32(b[49:])),
		LowestStack: int(binary.LittleEndian.Uint16(b[53:])),
		Vectors:     make([]VectorStats, b[55]),
	}
	for i := range s.Vectors {
		if s.Vectors[i], err = h.vector(); err != nil {
			return Stats{}, err
		}
	}
	return s, nil
}

func (h *harness) vector() (VectorStats, error) {
	var b [vectorBytes]byte
	if _, err := io.ReadFull(h.out, b[:]); err != nil {
		return VectorStats{}, h.broken(err)
	}
	return VectorStats{
		Entries:      int64(binary.LittleEndian.Uint64(b[0:])),
		Ticks:        int64(binary.LittleEndian.Uint64(b[8:])),
		LongestTicks: int64(binary.LittleEndian.Uint32(b[16:])),
		LatestTicks:  int64(binary.LittleEndian.Uint32(b[20:])),
	}, nil
}
