package main

import (
	"bytes"
	"fmt"
)

// markdown writes the table of messages for people.
func (s *schema) markdown() []byte {
	var w bytes.Buffer
	fmt.Fprintf(&w, "<!-- %s -->\n\n# Messages on the wire\n\n", generated)
	fmt.Fprint(&w, `A frame is the message, then CRC-16/IBM-3740 of it (high byte first), both
byte-stuffed with COBS, then one zero byte. Integers are unsigned and little
endian. A name that ends in Ticks counts the board's clock; one of three bytes
holds the low 24 bits. In the running text a capitalised name is a field,
message or constant of this page.

`)
	for _, m := range s.messages {
		m.markdown(&w)
	}
	fmt.Fprintf(&w, "## Constants\n\n| name | value | meaning |\n|---|---|---|\n")
	for _, g := range s.consts {
		for _, v := range g.values {
			doc := v.doc
			if doc == "" {
				doc = g.doc
			}
			fmt.Fprintf(&w, "| %s | %d | %s |\n", v.name, v.value, doc)
		}
	}
	return w.Bytes()
}

func (r *record) markdown(w *bytes.Buffer) {
	to := map[string]string{"host": "host to board", "board": "board to host"}[r.sender]
	fmt.Fprintf(w, "## %s (0x%02X, %s)\n\n%s\n\n", r.name, r.id, to, r.doc)
	fmt.Fprintf(w, "| byte | size | field | meaning |\n|---|---|---|---|\n| 0 | 1 | id | 0x%02X |\n", r.id)
	at := 1
	for _, f := range r.fields {
		fmt.Fprintf(w, "| %d | %d | %s | %s |\n", at, f.bytes, f.name, f.doc)
		at += f.bytes
	}
	if l := r.list; l != nil {
		fmt.Fprintf(w, "| %d | %d each | %s | up to %d items. %s |\n", at, l.item.size(), l.name, l.max, l.doc)
		fmt.Fprintf(w, "\n%s (one item):\n\n| byte | size | field | meaning |\n|---|---|---|---|\n", l.item.doc)
		at = 0
		for _, f := range l.item.fields {
			fmt.Fprintf(w, "| +%d | %d | %s | %s |\n", at, f.bytes, f.name, f.doc)
			at += f.bytes
		}
	}
	fmt.Fprintf(w, "\n")
}
