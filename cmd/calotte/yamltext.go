package main

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
)

var bareYAML = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`^\pL[\pL\d=_.-]*$`) })

// meaningYAML are words that some reader of YAML takes for something else than
// text.
var meaningYAML = []string{"null", "true", "false", "yes", "no", "on", "off", "y", "n"}

// yamlText is a text as a value of YAML: bare where nothing can be meant but
// the text, else in double quotes. What Go escapes in them YAML reads the same,
// for text in UTF-8.
func yamlText(text string) string {
	if bareYAML().MatchString(text) && !slices.Contains(meaningYAML, strings.ToLower(text)) {
		return text
	}
	return strconv.QuoteToGraphic(text)
}

// yamlTexts are several, as the items of a list in brackets.
func yamlTexts(texts []string) string {
	var list []string
	for _, t := range texts {
		list = append(list, yamlText(t))
	}
	return strings.Join(list, ", ")
}
