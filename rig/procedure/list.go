// Package procedure is the list of the bench tests. Each lies whole in a folder of
// its own below; what they share is in rig/execution.
package procedure

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"

	"govrig/rig/execution"
	"govrig/rig/procedure/accept"
	"govrig/rig/procedure/byhand"
	"govrig/rig/procedure/faults"
	"govrig/rig/procedure/hold"
	"govrig/rig/procedure/loadstep"
	"govrig/rig/procedure/pickup"
	"govrig/rig/procedure/selftest"
	"govrig/rig/procedure/spoolup"
	"govrig/rig/procedure/sweep"
	"govrig/rig/procedure/throttle"
	"govrig/rig/procedure/tune"
)

// List is the procedures in the order of a person's work at the bench.
type List []*execution.Procedure

// All are the procedures that there are.
var All = List{
	&selftest.Procedure,
	&pickup.Procedure,
	&accept.Procedure,
	&throttle.Procedure,
	&hold.Procedure,
	&spoolup.Procedure,
	&loadstep.Procedure,
	&sweep.Procedure,
	&tune.Procedure,
	&faults.Procedure,
}

// Known are those of the list and what is no test: what a record can be of.
var Known = append(slices.Clone(All), &byhand.Procedure)

// Find gives the procedure of a name, or nil.
func (l List) Find(name string) *execution.Procedure {
	if i := l.Place(name); i < len(l) {
		return l[i]
	}
	return nil
}

// Place is where the procedure of a name stands in the list; after its end where
// there is none.
func (l List) Place(name string) int {
	for i, p := range l {
		if p.Name == name {
			return i
		}
	}
	return len(l)
}

// Title is what a page calls the procedure of a name: the name itself where
// there is none.
func (l List) Title(name string) string {
	if p := l.Find(name); p != nil {
		return p.Title
	}
	return name
}

// Again runs the procedure of the given name with the options that a record
// holds.
func (l List) Again(ctx context.Context, b *execution.Bench, name string, options json.RawMessage) (*execution.Run, error) {
	p := l.Find(name)
	if p == nil {
		return nil, fmt.Errorf("this govrig has no procedure %q", name)
	}
	return p.Again(ctx, b, options)
}
