package runlog

import (
	"errors"

	"govrig/protocol/frame"
)

// Message is one message that passed whole.
type Message struct {
	Kind  Kind // FromBoard or ToBoard
	Bytes []byte
}

// Messages gives each message of the record, in order; its bytes are valid
// until the next. It ends early when each gives false.
func (r *Record) Messages(each func(Message) bool) (err error) {
	wire, err := r.Wire()
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, wire.Close()) }()
	var decoders [2]frame.Decoder
	for {
		entry, err := wire.Next()
		if err != nil {
			return ended(err)
		}
		decoder := &decoders[0]
		switch entry.Kind {
		case FromBoard:
		case ToBoard:
			decoder = &decoders[1]
		default:
			continue
		}
		for _, c := range entry.Bytes {
			if m, ok := decoder.Next(c); ok && !each(Message{entry.Kind, m}) {
				return nil
			}
		}
	}
}
