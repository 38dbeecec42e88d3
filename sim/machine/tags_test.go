package machine

import (
	"reflect"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// leaf is a key with a plain value.
type leaf struct {
	path  string
	field reflect.StructField
}

func leaves(t reflect.Type, path string) (all []leaf) {
	for i := range t.NumField() {
		f := t.Field(i)
		key := keyOf(f)
		if key == "" {
			continue
		}
		at := join(path, key)
		switch {
		case f.Type == speedsType:
			all = append(all, leaves(f.Type.Elem(), join(at, templateSpeed))...)
		case f.Type.Kind() == reflect.Slice:
			all = append(all, leaves(f.Type.Elem(), at+"[0]")...)
		case f.Type.Kind() == reflect.Struct:
			all = append(all, leaves(f.Type, at)...)
		default:
			all = append(all, leaf{at, f})
		}
	}
	return all
}

func (l leaf) assign(text string) (problem, remedy string) {
	t := l.field.Type
	if t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	return assign(text, l.field, reflect.New(t).Elem())
}

// Every tag holds what its key accepts, and nothing beyond the range.
func TestTagsAreInOrder(t *testing.T) {
	all := leaves(reflect.TypeFor[Machine](), "")
	require.Greater(t, len(all), 90)
	for _, l := range all {
		tag := l.field.Tag
		require.NotEmpty(t, tag.Get("about"), l.path)
		for _, name := range []string{"low", "high", "default", "example"} {
			text := tag.Get(name)
			if text == "" || text == "-" || text[0] == '=' {
				continue
			}
			problem, _ := l.assign(text)
			require.Empty(t, problem, "%s %s", l.path, name)
		}
		problem, _ := l.assign(exampleOf(l.field))
		require.Empty(t, problem, l.path)
		if l.field.Type.Kind() == reflect.String {
			continue
		}
		require.NotEmpty(t, tag.Get("low"), l.path)
		require.NotEmpty(t, tag.Get("high"), l.path)
	}
}

// uncommented is a new file with every key that it only shows filled in.
func uncommented(t *testing.T, answers map[string]string) string {
	text, err := Template(answers)
	require.NoError(t, err)
	lines := strings.Split(text, "\n")
	for i, line := range lines {
		if body := strings.TrimLeft(line, " "); strings.HasPrefix(body, "#") && !strings.HasPrefix(body, "# ") {
			lines[i] = strings.Replace(line, "#", "", 1)
		}
	}
	return strings.Join(lines, "\n")
}

// With all keys given nothing is assumed.
func TestNewFileShowsEveryKey(t *testing.T) {
	text := uncommented(t, nil)
	m, err := Parse("new.yaml", []byte(text))
	require.NoError(t, err)
	require.Empty(t, m.Defaults)
	for _, l := range leaves(reflect.TypeFor[Machine](), "") {
		require.Regexp(t, `(?m)^[ -]*`+keyOf(l.field)+`: \S`, text)
	}
}

// At the ends of a key's range the simulated part agrees, or a check between
// keys has its own words: the part's own range never comes through.
func TestRangesFitTheSimulatedParts(t *testing.T) {
	for _, l := range leaves(reflect.TypeFor[Machine](), "") {
		for _, end := range []string{l.field.Tag.Get("low"), l.field.Tag.Get("high")} {
			if end == "" {
				continue
			}
			text, err := Template(map[string]string{l.path: end})
			if err == nil {
				require.Contains(t, text, end)
				continue
			}
			for _, f := range err.(Faults) {
				if strings.Contains(f.Problem, "comes out as") { // of several keys
					require.Contains(t, []string{"engine.inertia", "engine.friction_pressure_at_peak", "engine.idle_speed"}, f.Path, "%s: %s", l.path, end)
				}
			}
		}
	}
}

func TestNearestWord(t *testing.T) {
	words := []string{"displacement", "idle_speed", "gap", "kind"}
	require.Equal(t, "displacement", nearest("displacment", words))
	require.Equal(t, "idle_speed", nearest("IdleSpeed", words))
	require.Equal(t, "gap", nearest("gpa", []string{"gap"}))
	require.Empty(t, nearest("wingspan", words))
	// The standard example of edit distance (Wagner and Fischer, J. ACM 21,
	// 1974, have the method; the pair is folklore): three changes.
	require.Equal(t, 3, distance("kitten", "sitting"))
	require.Equal(t, 0, distance("", ""))
	require.Equal(t, 4, distance("", "rpm4"))
}
