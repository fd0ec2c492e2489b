package console

import (
	"runtime"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// ShellQuote writes an argument as it has to be typed: between quotes where a
// shell would take it apart.
func ShellQuote(arg string) string {
	plain := func(r rune) bool {
		return unicode.IsLetter(r) || unicode.IsDigit(r) || strings.ContainsRune("@%+=:,./-_", r) ||
			r == '\\' && runtime.GOOS == "windows"
	}
	switch {
	case arg != "" && strings.IndexFunc(arg, func(r rune) bool { return !plain(r) }) < 0:
		return arg
	case runtime.GOOS == "windows":
		return `"` + arg + `"` // a quote cannot be part of a file's name there
	case strings.ContainsFunc(arg, func(r rune) bool { return !strconv.IsGraphic(r) }) || !utf8.ValidString(arg):
		// As bash, ksh and zsh take it, since a terminal must not be
		// shown it as it is.
		text := strconv.Quote(arg)
		return "$'" + strings.NewReplacer(`\"`, `"`, "'", `\'`).Replace(text[1:len(text)-1]) + "'"
	}
	return "'" + strings.ReplaceAll(arg, "'", `'\''`) + "'"
}

// ShellLine joins arguments to what has to be typed.
func ShellLine(args []string) string {
	quoted := make([]string, len(args))
	for i, arg := range args {
		quoted[i] = ShellQuote(arg)
	}
	return strings.Join(quoted, " ")
}
