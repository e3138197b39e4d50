package report

import (
	"io"

	"github.com/shuntwright/shuntwright/parse/field"
)

// fieldsSchema names the form of a list of fields.
const fieldsSchema = "shuntwright.fields/1"

type (
	jsonFields struct {
		Schema string      `json:"schema"`
		Roles  []string    `json:"roles,omitempty"`
		Fields []jsonField `json:"fields"`
	}
	jsonField struct {
		Key          string   `json:"key"`
		Shape        string   `json:"shape"`
		Unit         string   `json:"unit,omitempty"`
		Words        []string `json:"words,omitempty"`
		Example      string   `json:"example"`
		Doc          string   `json:"doc"`
		Roles        []string `json:"roles,omitempty"`
		MayBeTypical bool     `json:"mayBeTypical,omitempty"`
	}
)

// FieldsJSON prints known fields of records or of intent for programs, and the roles of parts that were asked for.
func FieldsJSON(w io.Writer, roles []string, list []field.Field) error {
	out := jsonFields{Schema: fieldsSchema, Roles: roles, Fields: []jsonField{}}
	for i := range list {
		f := &list[i]
		out.Fields = append(out.Fields, jsonField{Key: f.Key, Shape: f.Shape.String(), Unit: f.Units(), Words: f.Words, Example: f.Example(), Doc: f.Doc, Roles: f.Roles, MayBeTypical: f.MayBe})
	}
	return encode(w, out)
}
