package main

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// The rooms of the two C programs, from the ground up: each may use itself and
// those before it.
var rooms = map[string]string{
	"firmware-notes/firmware": "wire board chip clock compare sink serial frame levels identity " +
		"capture select pickup stick failsafe session main",
	"firmware-notes/emulator": "regs out fatal tell event hook irq ports timer timer1 timer2 rxd usart " +
		"analogue comparator adc watchdog wires inputs unmodelled mcu pipe harness",
}

// A function or a variable that other C files can name.
var (
	cFunction = regexp.MustCompile(`(?m)^(?:_Noreturn )?(?:static (?:inline |RARE )?)?[a-z]\w*(?: \w+)*[ *]+(\w+)\([^;{}]*\)\s*\{`)
	cVariable = regexp.MustCompile(`(?m)^(?:volatile )?u?int\d+_t (\w+)(?:\[\d+\])?(?: = [^;]+)?;`)
	cWord     = regexp.MustCompile(`\b[a-z_]\w*\b`)
	cComment  = regexp.MustCompile(`(?s)/\*.*?\*/|//[^\n]*|"(?:[^"\\\n]|\\.)*"|^#[^\n]*`)
	cMember   = regexp.MustCompile(`(?:->|\.)\w+`)
	cDeclared = regexp.MustCompile(`(?m)^[a-z_][^{};=]*\)[^{};=]*;|^\t+(?:volatile )?(?:struct )?\w+ \*?\w+(?:\[\w+\])?;`)
)

// cFile is what one C file defines and names.
type cFile struct {
	room          string
	defines, uses []string
}

func readC(room, name, text string) cFile {
	text = cComment.ReplaceAllString(text, "")
	used := cDeclared.ReplaceAllString(cMember.ReplaceAllString(text, ""), "")
	f := cFile{room: room, uses: cWord.FindAllString(used, -1)}
	for _, m := range cFunction.FindAllStringSubmatch(text, -1) {
		if strings.HasSuffix(name, ".h") || !strings.HasPrefix(m[0], "static") {
			f.defines = append(f.defines, m[1])
		}
	}
	if strings.HasSuffix(name, ".c") {
		for _, m := range cVariable.FindAllStringSubmatch(text, -1) {
			f.defines = append(f.defines, m[1])
		}
	}
	return f
}

// back names every use of a room by one that stands before it in the order.
func back(order []string, files []cFile) (wrong []string) {
	home := map[string]string{}
	for _, f := range files {
		for _, name := range f.defines {
			home[name] = f.room
		}
	}
	for _, f := range files {
		for _, name := range f.uses {
			to, known := home[name]
			if known && slices.Index(order, to) > slices.Index(order, f.room) {
				wrong = append(wrong, f.room+" uses "+name+" of "+to)
			}
		}
	}
	slices.Sort(wrong)
	return slices.Compact(wrong)
}

// Calls between C files run one way, from the last room to the first: there is no
// circle and none runs back up. With TestImportsRunOneWay, the same for Go.
func TestCallsBetweenCFilesRunOneWay(t *testing.T) {
	require.Equal(t, []string{"low uses top of high"}, back([]string{"low", "high"}, []cFile{
		readC("low", "low.c", "void low(void)\n{\n\ttop(1);\n}\n"),
		readC("high", "high.c", "uint8_t *top(int a)\n{\n\tlow();\n\tm->low();\n}\n"),
	}), "a circle of two files would be seen")
	for folder, names := range rooms {
		order := strings.Fields(names)
		paths, err := filepath.Glob(filepath.Join(root, folder, "*.[ch]"))
		require.NoError(t, err)
		var files []cFile
		links := 0
		for _, path := range paths {
			text, err := os.ReadFile(path)
			require.NoError(t, err)
			name := filepath.Base(path)
			room := strings.TrimSuffix(name, filepath.Ext(name))
			require.Contains(t, order, room, "%s has no place in the order of %s", name, folder)
			f := readC(room, name, string(text))
			links += len(f.defines)
			files = append(files, f)
		}
		require.Greater(t, links, 40, "what %s defines was read", folder)
		require.Empty(t, back(order, files), folder)
	}
}
