package procedure

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
)

// starters are all procedures by their names, for a record to be run again.
var starters = map[string]func(context.Context, *Bench, json.RawMessage) (*Run, error){
	"accept":   starter(Accept),
	"faults":   starter(Faults),
	"hold":     starter(Hold),
	"loadstep": starter(LoadStep),
	"pickup": starter(func(ctx context.Context, b *Bench, o PickupOptions) (*Run, error) {
		return new(Pickup).Measure(ctx, b, o)
	}),
	"selftest": starter(SelfTest),
	"spoolup":  starter(SpoolUp),
	"tune":     starter(Tune),
	"throttle": starter(Throttle),
	"sweep": starter(func(ctx context.Context, b *Bench, o SweepOptions) (*Run, error) {
		return new(Sweep).Measure(ctx, b, o)
	}),
}

// starter makes a procedure take its options as they stand in a record.
func starter[Options any](run func(context.Context, *Bench, Options) (*Run, error)) func(context.Context, *Bench, json.RawMessage) (*Run, error) {
	return func(ctx context.Context, b *Bench, recorded json.RawMessage) (*Run, error) {
		var o Options
		if err := json.Unmarshal(recorded, &o); err != nil {
			return nil, fmt.Errorf("procedure: recorded options: %w", err)
		}
		return run(ctx, b, o)
	}
}

// Again runs the procedure of the given name with the options that a record
// holds.
func Again(ctx context.Context, b *Bench, name string, options json.RawMessage) (*Run, error) {
	start, ok := starters[name]
	if !ok {
		return nil, fmt.Errorf("procedure: this govrig has no procedure %q", name)
	}
	return start(ctx, b, options)
}

// Names gives the names of all procedures, in order.
func Names() []string { return slices.Sorted(maps.Keys(starters)) }
