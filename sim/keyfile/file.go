package keyfile

import "reflect"

// File is a kind of file.
type File struct {
	// Noun is what one describes: "machine".
	Noun string
	// First is a line that one begins with, Source where one comes from; both
	// are for hints.
	First, Source string
	// Keys are all its keys, in order.
	Keys []*Key
	// ByPath are those with a value of their own by path, as in a new file:
	// "gears[0].driver".
	ByPath map[string]*Key
}

// Variant gives some keys of a section another default: where the key named Key
// has the value Word, the tag named Word holds in place of the tag default.
type Variant struct{ Key, Word string }

// Declare is the kind of file that is read into a T.
func Declare[T any](noun, first, source string, v Variant) *File {
	f := &File{Noun: noun, First: first, Source: source, Keys: v.keysOf(reflect.TypeFor[T]())}
	f.ByPath = leaves(f.Keys, "", map[string]*Key{})
	return f
}

// Read reads a file into a struct of the declared type; name is shown in
// errors. The caller goes on with its own checks while there are no faults, and
// closes the reader.
func (f *File) Read(name string, data []byte, into any) *Reader {
	r := &Reader{kind: f, file: name, places: map[string]place{}, written: map[string]string{}, inner: map[string][]string{}}
	if root := r.read(data); root != nil {
		r.section(root, f.Keys, reflect.ValueOf(into).Elem(), "", wholeFile)
	}
	return r
}
