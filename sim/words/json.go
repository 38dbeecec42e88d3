package words

import (
	"encoding/json"
	"io"
)

// JSON writes a document for a program: indented, with signs as they are.
func JSON(w io.Writer, document any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(document)
}
