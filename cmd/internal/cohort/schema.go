package cohort

import (
	"slices"

	"calotte/cmd/internal/dialect"
)

// Schema is the JSON Schema of recipes, made from the flags of the verbs, as
// that of a spec.
func Schema(all Verbs) map[string]any {
	text := map[string]any{"type": []string{"string", "number"}}
	texts := map[string]any{"anyOf": []any{text, map[string]any{"type": "array", "items": text, "minItems": 1}}}
	averaging := all.sectionSchema("average", notInAverage)
	properties := map[string]any{
		"name":        map[string]any{"type": "string", "description": "that the group's files begin with"},
		"results":     map[string]any{"type": "string", "description": "folder for all that is made"},
		"head":        map[string]any{"type": "string", "description": "head file of calotte place"},
		"windows":     map[string]any{"type": "string", "description": "file of declared windows"},
		"declared":    map[string]any{"type": "string", "description": "file of declared tests: compare: as here"},
		"average":     averaging,
		"people":      map[string]any{"type": "object", "additionalProperties": averaging},
		"combine":     all.sectionSchema("combine", notInCombine),
		"differences": texts,
		"alternatives": map[string]any{"type": "object", "additionalProperties": false, "required": []string{"of", "window"},
			"properties": map[string]any{"conditions": texts, "of": texts, "window": texts,
				"average": map[string]any{"type": "object", "additionalProperties": texts}}},
	}
	for _, key := range []string{"recordings", "participants", "session", "task", "run"} {
		properties[key] = texts
	}
	for _, s := range itemSections {
		verbs := []string{s.verb}
		if s.verb == "" {
			verbs = figureVerbs
		}
		var kinds []any
		for _, v := range verbs {
			kind := all.sectionSchema(v, nil)
			of := kind["properties"].(map[string]any)
			of["name"], of["inputs"] = map[string]any{"type": "string"}, texts
			required := []string{"name"}
			if s.verb == "" {
				of["figure"] = map[string]any{"const": v}
				required = append(required, "figure")
			}
			kind["required"] = required
			kinds = append(kinds, kind)
		}
		one := map[string]any{"anyOf": kinds}
		properties[s.key] = map[string]any{"anyOf": append(slices.Clone(kinds),
			map[string]any{"type": "array", "items": one, "minItems": 1})}
	}
	return map[string]any{
		"$schema": "https://json-schema.org/draft/2020-12/schema",
		"title":   "A recipe of calotte cohort",
		"type":    "object", "properties": properties,
		"required": []string{"recordings", "average"}, "additionalProperties": false,
	}
}

// sectionSchema is that of settings of a verb.
func (verbs Verbs) sectionSchema(name string, without []string) map[string]any {
	c := verbs.Fresh(name)
	properties := map[string]any{}
	for _, key := range recipeFlags(c, without) {
		properties[key] = dialect.FlagSchema(c.Flags().Lookup(key))
	}
	return map[string]any{"type": "object", "properties": properties, "additionalProperties": false}
}
