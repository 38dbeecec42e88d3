package harmless

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// dangerous is what ISO/IEC 6429 calls C0 and C1, DEL, and what Unicode Standard
// Annex 9 calls explicit directional formatting characters and implicit marks.
func dangerous(r rune) bool {
	return r < 0x20 || r >= 0x7F && r < 0xA0 || strings.ContainsRune("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u2028\u2029", r)
}

func TestLine(t *testing.T) {
	require.Equal(t, "Large\uFFFD[31m machine", Line("Large\x1b[31m\nmachine"))
	require.Equal(t, "é ü 直升机 – 5 µs", Line("é ü 直升机 – 5 µs"), "other writing is left alone")
	rapid.Check(t, func(t *rapid.T) {
		text := string(rapid.SliceOf(rapid.Byte()).Draw(t, "text")) + rapid.String().Draw(t, "more")
		line := Line(text)
		require.False(t, strings.ContainsFunc(line, dangerous), "%q", line)
		require.Equal(t, line, Line(line))
	})
}

// However the bytes are cut, the same comes out, and nothing dangerous.
func TestWriter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.String().Draw(t, "text") + "\x1b]0;title\a\u202egnp.exe\u0085\r\n" + string(rapid.SliceOf(rapid.Byte()).Draw(t, "bytes"))
		var whole, cut bytes.Buffer
		_, err := NewWriter(&whole).Write([]byte(text))
		require.NoError(t, err)
		w := NewWriter(&cut)
		for _, c := range []byte(text) {
			n, err := w.Write([]byte{c})
			require.NoError(t, err)
			require.Equal(t, 1, n)
		}
		require.Equal(t, whole.String(), cut.String())
		require.False(t, strings.ContainsFunc(whole.String(), func(r rune) bool { return r != '\n' && r != '\t' && r != '\r' && dangerous(r) }))
		require.NotContains(t, strings.ReplaceAll(whole.String(), "\r\n", ""), "\r", "it would begin the line anew")
	})
}

func TestLines(t *testing.T) {
	type inner struct{ Text string }
	v := struct {
		Name  string
		More  []inner
		One   *inner
		Count int
		Raw   []byte
	}{"a\x1bb", []inner{{"c\nd"}}, &inner{"e\u202ef"}, 3, []byte("\x1b")}
	Lines(&v)
	require.Equal(t, "a\uFFFDb", v.Name)
	require.Equal(t, "c d", v.More[0].Text)
	require.Equal(t, "e\uFFFDf", v.One.Text)
	require.Equal(t, []byte("\x1b"), v.Raw)
}
