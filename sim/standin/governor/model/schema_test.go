package model

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
	validator "github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/require"
)

// What is written conforms to the schema by an independent validator, and a slip does
// not.
func TestSchemaTakesWhatIsWritten(t *testing.T) {
	text, err := json.Marshal(Schema())
	require.NoError(t, err)
	doc, err := validator.UnmarshalJSON(strings.NewReader(string(text)))
	require.NoError(t, err)
	compiler := validator.NewCompiler()
	compiler.DefaultDraft(validator.Draft2020)
	require.NoError(t, compiler.AddResource("governor.json", doc))
	schema := compiler.MustCompile("governor.json")
	conforms := func(file string) error {
		data, err := yaml.YAMLToJSON([]byte(file))
		require.NoError(t, err)
		value, err := validator.UnmarshalJSON(strings.NewReader(string(data)))
		require.NoError(t, err)
		return schema.Validate(value)
	}
	good := written(t, known())
	require.NoError(t, conforms(good))
	require.Error(t, conforms(strings.Replace(good, "integral_time", "integral_tme", 1)))
	require.Error(t, conforms(strings.Replace(good, "value: 0.8 s", "value: 0.8 rpm", 1)))
}
