package main

import "io"

// keysHelp is shown before the keys count.
const keysHelp = `
  up, down      stick 5 %            1 2 3   stick low, middle, high
  left, right   select 1 %           4 5 6   select low, middle, high
  i             pickup pulses of the idling engine
  + -           their speed 2 %      o       no pickup pulses
  e             the simulated engine, which follows the throttle
  l k           its load 10 % up, down
  space         at rest: stick low, no pickup pulses
  q or Ctrl-C   end; the board plays nothing

`

// keys are what a key orders; those of arrows are what terminals send after an escape.
var keys = map[string]string{
	"[A": "stick up 5 %", "[B": "stick down 5 %", "[C": "select up 1 %", "[D": "select down 1 %",
	"1": "stick low", "2": "stick mid", "3": "stick high",
	"4": "select low", "5": "select mid", "6": "select high",
	"i": "pickup idle", "+": "pickup up 2 %", "-": "pickup down 2 %", "o": "pickup off",
	"e": "engine", "l": "load up 10 %", "k": "load down 10 %",
	" ": "rest", "q": "end", "\x03": "end", "\x04": "end",
}

// press reads keys until the input ends, and gives their orders. An escape with a
// bracket or an O after it begins an arrow; keys that order nothing are passed over.
func press(r io.Reader, order func(string)) {
	const escape = 0x1b
	sequence := ""
	for b := make([]byte, 1); ; {
		if n, err := r.Read(b); err != nil || n == 0 {
			return
		}
		switch {
		case b[0] == escape:
			sequence = "\x1b"
			continue
		case sequence == "\x1b" && (b[0] == '[' || b[0] == 'O'):
			sequence = "["
			continue
		}
		key := string(b)
		if sequence == "[" {
			key = "[" + key
		}
		sequence = ""
		if text, ok := keys[key]; ok {
			order(text)
		}
	}
}
