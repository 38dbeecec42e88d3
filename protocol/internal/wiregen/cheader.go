package main

import (
	"bytes"
	"fmt"
	"strings"
	"unicode"
)

// cheader writes the firmware's header: constants, structs, and functions
// that pack and unpack them.
func (s *schema) cheader() []byte {
	var w bytes.Buffer
	fmt.Fprintf(&w, "/* %s */\n\n#ifndef WIRE_H\n#define WIRE_H\n\n#include <stdint.h>\n", generated)
	for _, g := range s.consts {
		fmt.Fprintf(&w, "\n%s", cComment(g.doc))
		for _, v := range g.values {
			fmt.Fprintf(&w, "#define %s %d%s\n", cConstant(g.prefix, v.name), v.value, cSuffix(v.name))
		}
	}
	fmt.Fprintf(&w, "\n")
	for _, m := range s.messages {
		fmt.Fprintf(&w, "#define WIRE_%s_ID 0x%02XU\n", upper(m.name), m.id)
	}
	for _, it := range s.items {
		it.cStruct(&w)
	}
	for _, it := range s.items {
		it.cPack(&w)
		it.cUnpack(&w)
	}
	for _, m := range s.messages {
		m.cMessage(&w)
	}
	fmt.Fprintf(&w, "\n#endif\n")
	return w.Bytes()
}

func (r *record) cMessage(w *bytes.Buffer) {
	fmt.Fprintf(w, "\n#define WIRE_%s_SIZE %dU /* id and fixed part */\n", upper(r.name), 1+r.size())
	if r.list != nil {
		fmt.Fprintf(w, "#define WIRE_%s_ITEM_SIZE %dU\n", upper(r.name), r.list.item.size())
	}
	if len(r.fields) == 0 {
		return
	}
	r.cStruct(w)
	if r.sender == "board" {
		r.cPack(w)
	} else {
		r.cUnpack(w)
	}
}

func (r *record) cStruct(w *bytes.Buffer) {
	fmt.Fprintf(w, "\n%sstruct wire_%s {\n", cComment(r.doc), lower(r.name))
	for _, f := range r.fields {
		fmt.Fprintf(w, "\tuint%d_t %s;\n", goBits(f.bytes), lower(f.name))
	}
	if l := r.list; l != nil {
		fmt.Fprintf(w, "\tstruct wire_%s %s[%d];\n\tuint8_t %s_len;\n", lower(l.item.name), lower(l.name), l.max, lower(l.name))
	}
	fmt.Fprintf(w, "};\n")
}

// cPack writes the function that packs a message and gives its length.
func (r *record) cPack(w *bytes.Buffer) {
	name := lower(r.name)
	fmt.Fprintf(w, "\nstatic inline uint8_t wire_%s_pack(uint8_t *b, const struct wire_%s *m)\n{\n\tuint8_t n = 0;\n", name, name)
	if r.id != 0 {
		fmt.Fprintf(w, "\tb[n++] = WIRE_%s_ID;\n", upper(r.name))
	}
	for _, f := range r.fields {
		for i := range f.bytes {
			fmt.Fprintf(w, "\tb[n++] = (uint8_t)(m->%s", lower(f.name))
			if i > 0 {
				fmt.Fprintf(w, " >> %d", 8*i)
			}
			fmt.Fprintf(w, ");\n")
		}
	}
	if l := r.list; l != nil {
		fmt.Fprintf(w, "\tfor (uint8_t i = 0; i < m->%s_len; i++)\n\t\tn += wire_%s_pack(b + n, &m->%s[i]);\n", lower(l.name), lower(l.item.name), lower(l.name))
	}
	fmt.Fprintf(w, "\treturn n;\n}\n")
}

// cUnpack writes the function that unpacks a message; it gives 0 when the
// length cannot be right.
func (r *record) cUnpack(w *bytes.Buffer) {
	name := lower(r.name)
	at := 0
	fmt.Fprintf(w, "\nstatic inline uint8_t wire_%s_unpack(struct wire_%s *m, const uint8_t *b, uint8_t len)\n{\n", name, name)
	if r.id == 0 {
		fmt.Fprintf(w, "\tif (len < %d)\n\t\treturn 0;\n", r.size())
	} else {
		at = 1
		r.cCheck(w)
	}
	for _, f := range r.fields {
		fmt.Fprintf(w, "\tm->%s = ", lower(f.name))
		for i := range f.bytes {
			if i > 0 {
				fmt.Fprintf(w, " | ")
			}
			if i == 0 {
				fmt.Fprintf(w, "(uint%d_t)b[%d]", goBits(f.bytes), at)
			} else {
				fmt.Fprintf(w, "(uint%d_t)b[%d] << %d", goBits(f.bytes), at+i, 8*i)
			}
		}
		fmt.Fprintf(w, ";\n")
		at += f.bytes
	}
	if l := r.list; l != nil {
		fmt.Fprintf(w, "\tfor (uint8_t i = 0; i < m->%s_len; i++)\n\t\twire_%s_unpack(&m->%s[i], b + %d + i * %d, %d);\n",
			lower(l.name), lower(l.item.name), lower(l.name), at, l.item.size(), l.item.size())
	}
	fmt.Fprintf(w, "\treturn 1;\n}\n")
}

func (r *record) cCheck(w *bytes.Buffer) {
	id := "WIRE_" + upper(r.name)
	l := r.list
	if l == nil {
		fmt.Fprintf(w, "\tif (len != %s_SIZE || b[0] != %s_ID)\n\t\treturn 0;\n", id, id)
		return
	}
	fmt.Fprintf(w, "\tif (len < %s_SIZE || b[0] != %s_ID)\n\t\treturn 0;\n", id, id)
	fmt.Fprintf(w, "\tm->%s_len = (uint8_t)((len - %s_SIZE) / %s_ITEM_SIZE);\n", lower(l.name), id, id)
	fmt.Fprintf(w, "\tif (m->%s_len > %d || len != %s_SIZE + m->%s_len * %s_ITEM_SIZE)\n\t\treturn 0;\n",
		lower(l.name), l.max, id, lower(l.name), id)
}

func cComment(doc string) string {
	if doc == "" {
		return ""
	}
	return "/* " + doc + " */\n"
}

// cSuffix makes a constant's type: ticks are reckoned with in 32 bits, whatever
// their number.
func cSuffix(name string) string {
	if strings.HasSuffix(name, "Ticks") {
		return "UL"
	}
	return "U"
}

// cConstant turns Go's OptionPickupLow of the group OPTION into
// WIRE_OPTION_PICKUP_LOW.
func cConstant(prefix, name string) string {
	u := upper(name)
	if !strings.HasPrefix(u, prefix+"_") {
		if u == "VERSION" {
			return "WIRE_" + prefix + "_VERSION"
		}
		u = prefix + "_" + u
	}
	return "WIRE_" + u
}

// lower turns LastEdgeTicks into last_edge_ticks and TickHz into tick_hz.
func lower(name string) string {
	var b strings.Builder
	runes := []rune(name)
	for i, r := range runes {
		if unicode.IsUpper(r) && i > 0 && (unicode.IsLower(runes[i-1]) || (i+1 < len(runes) && unicode.IsLower(runes[i+1]) && !unicode.IsDigit(runes[i-1]))) {
			b.WriteByte('_')
		}
		b.WriteRune(unicode.ToLower(r))
	}
	return b.String()
}

func upper(name string) string { return strings.ToUpper(lower(name)) }
