package keyfile

// Field is a key at its place in a file, for a form.
type Field struct {
	Key *Key
	// Path is where it stands: "speeds.circuit.head_speed".
	Path string
	// Text is its value as it is written; Given is false where it was left out.
	Text  string
	Given bool
}

// Fields are the keys with a single value, in order, those left out among them;
// entries of lists and named sections are those of the file.
func (r *Reader) Fields() []Field { return r.fields(nil, r.kind.Keys, "") }

func (r *Reader) fields(all []Field, keys []*Key, path string) []Field {
	for _, k := range keys {
		at := Join(path, k.Name)
		switch k.Kind {
		case Section:
			all = r.fields(all, k.Keys, at)
		case List, Named:
			for _, entry := range r.inner[at] {
				all = r.fields(all, k.Keys, entry)
			}
		case Curve: // is a list of values, which a form leaves to an editor
		default:
			text, given := r.written[at]
			all = append(all, Field{k, at, text, given})
		}
	}
	return all
}
