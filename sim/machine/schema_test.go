package machine_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
	validator "github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"govrig/sim/machine"
)

// schema compiles the schema with an independent validator, which also checks
// it against the meta-schema of draft 2020-12.
func schema(t testing.TB) *validator.Schema {
	text, err := json.Marshal(machine.Schema())
	require.NoError(t, err)
	doc, err := validator.UnmarshalJSON(strings.NewReader(string(text)))
	require.NoError(t, err)
	compiler := validator.NewCompiler()
	compiler.DefaultDraft(validator.Draft2020)
	require.NoError(t, compiler.AddResource("machine.json", doc))
	return compiler.MustCompile("machine.json")
}

// conforms holds a file against the schema, the way an editor does.
func conforms(s *validator.Schema, text string) error {
	data, err := yaml.YAMLToJSON([]byte(text))
	if err != nil {
		return err
	}
	doc, err := validator.UnmarshalJSON(strings.NewReader(string(data)))
	if err != nil {
		return err
	}
	return s.Validate(doc)
}

func TestSchemaTakesTheWorkedMachines(t *testing.T) {
	s := schema(t)
	files, err := filepath.Glob("../../testdata/machines/*.yaml")
	require.NoError(t, err)
	require.Len(t, files, 3)
	for _, file := range files {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		require.NoError(t, conforms(s, string(text)), file)
	}
	text, err := machine.Template(nil)
	require.NoError(t, err)
	require.NoError(t, conforms(s, text))
}

var entry = regexp.MustCompile(`^([ -]*)([a-z_0-9]+): (\S.*)$`)

// slips change the key or the value of a line. Where sure is set, schema and
// parser must say the same; else the schema may be wider.
var slips = map[string]struct {
	sure   bool
	change func(indent, key, value string) string
}{
	"as it was":      {true, func(i, k, v string) string { return i + k + ": " + v }},
	"key misspelt":   {true, func(i, k, v string) string { return i + k + "x: " + v }},
	"key in capital": {true, func(i, k, v string) string { return i + strings.ToUpper(k) + ": " + v }},
	"null":           {true, func(i, k, v string) string { return i + k + ": ~" }},
	"list":           {true, func(i, k, v string) string { return i + k + ": [" + strings.Trim(v, "{}") + "]" }},
	"bare number":    {false, func(i, k, v string) string { return i + k + ": 3.5" }},
	"whole number":   {false, func(i, k, v string) string { return i + k + ": 4" }},
	"zero":           {false, func(i, k, v string) string { return i + k + ": 0" }},
	"bool":           {true, func(i, k, v string) string { return i + k + ": true" }},
	"other unit":     {true, func(i, k, v string) string { return i + k + ": 5 furlongs" }},
	"no unit":        {false, func(i, k, v string) string { return i + k + ": " + strings.Fields(v)[0] }},
	"comma":          {false, func(i, k, v string) string { return i + k + ": " + strings.Replace(v, ".", ",", 1) }},
	"a length":       {false, func(i, k, v string) string { return i + k + ": 11 mm" }},
	"a speed":        {false, func(i, k, v string) string { return i + k + ": 9000 rpm" }},
	"a time":         {false, func(i, k, v string) string { return i + k + ": 1e3 us" }},
	"quoted":         {false, func(i, k, v string) string { return i + k + ": '" + v + "'" }},
	"line gone":      {false, func(i, k, v string) string { return strings.TrimRight(i, " ") + " # gone" }},
	"another key": {true, func(i, k, v string) string {
		return i + k + ": " + v + "\n" + strings.ReplaceAll(i, "-", " ") + "extra: 1"
	}},
}

// What the parser accepts, the schema accepts; and what is wrong in kind, both
// refuse.
func TestSchemaAndParserAgree(t *testing.T) {
	s := schema(t)
	var names []string
	for name := range slips {
		names = append(names, name)
	}
	slices.Sort(names)
	lines := strings.Split(medium(t), "\n")
	var entries []int
	for i, line := range lines {
		if entry.MatchString(line) {
			entries = append(entries, i)
		}
	}
	accepted, refused := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		at := rapid.SampledFrom(entries).Draw(t, "line")
		slip := slips[rapid.SampledFrom(names).Draw(t, "slip")]
		part := entry.FindStringSubmatch(lines[at])
		changed := append([]string{}, lines...)
		changed[at] = slip.change(part[1], part[2], part[3])
		text := strings.Join(changed, "\n")

		_, parserSays := machine.Parse("x.yaml", []byte(text))
		schemaSays := conforms(s, text)
		if parserSays == nil {
			accepted++
			require.NoError(t, schemaSays, changed[at])
		}
		if slip.sure && parserSays != nil {
			refused++
			isText := part[2] == "name" || part[2] == "notes"
			require.True(t, schemaSays != nil || isText, "%q: %v", changed[at], parserSays)
		}
	})
	require.Positive(t, accepted)
	require.Positive(t, refused)
}
