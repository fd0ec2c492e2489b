package hostile

import (
	"encoding/json"
	"fmt"
	"testing"

	"pgregory.net/rapid"
)

const document = `{"name":"a","list":[1,2.5,{"deep":null}],"on":true}`

// Without a script the document stays what it was.
func TestEditNothing(t *testing.T) {
	if got := string(Edit([]byte("\n"+document+" "), nil)); got != document {
		t.Error(got)
	}
}

// Values count from the outside in: 0 is the document, 1 the name, 2 the list,
// 3 and 4 its numbers, 5 its object, 6 what is in that, 7 the last.
func TestEdit(t *testing.T) {
	const number, text, word, takeAway, wrapping, nesting, again, other, renaming, long, digit = 0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10
	for _, c := range []struct {
		script []byte
		want   string
	}{
		{[]byte{0, 1, number, 4}, `{"name":1e999,"list":[1,2.5,{"deep":null}],"on":true}`},
		{[]byte{0, 0, word, 0}, `null`},
		{[]byte{0, 2, text, 1}, `{"name":"a","list":"../../x","on":true}`},
		{[]byte{0, 1, takeAway, 0}, `{"list":[1,2.5,{"deep":null}],"on":true}`},
		{[]byte{0, 0, takeAway, 0}, ``},
		{[]byte{0, 3, wrapping, 1}, `{"name":"a","list":[{"in":1},2.5,{"deep":null}],"on":true}`},
		{[]byte{0, 6, nesting, 2}, `{"name":"a","list":[1,2.5,{"deep":[[[[]]]]}],"on":true}`},
		{[]byte{0, 1, again, 0}, `{"name":"a","list":[1,2.5,{"deep":null}],"on":true,"name":"a"}`},
		{[]byte{0, 3, other, 7}, `{"name":"a","list":[true,2.5,{"deep":null}],"on":true}`},
		{[]byte{0, 3, other, 2}, document}, // a list cannot be in itself
		{[]byte{0, 1, renaming, 0}, `{"NAME":"a","list":[1,2.5,{"deep":null}],"on":true}`},
		{[]byte{0, 1, renaming, 1}, `{"list":"a","list":[1,2.5,{"deep":null}],"on":true}`},
		{[]byte{0, 1, long, 2}, `{"name":"xxxx","list":[1,2.5,{"deep":null}],"on":true}`},
		{[]byte{0, 1, digit, 7}, `{"name":"7","list":[1,2.5,{"deep":null}],"on":true}`},
		{[]byte{0, 1, takeAway, 0, 0, 1, takeAway, 0}, `{"on":true}`},
		{[]byte{255}, ``},
	} {
		if got := string(Edit([]byte(document), c.script)); got != c.want {
			t.Errorf("%v: %s, want %s", c.script, got, c.want)
		}
	}
}

// Whatever the script, JSON comes out, or nothing, unless the script cuts it
// off.
func TestEditMakesJSON(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		script := rapid.SliceOfN(rapid.Byte(), 0, 60).Draw(r, "script")
		got := Edit([]byte(document), script[:len(script)/4*4])
		if len(got) > 0 && !json.Valid(got) {
			r.Errorf("%.200s", got)
		}
	})
}

// A watched test only notes that it failed.
type watched struct {
	testing.TB
	said []string
}

func (w *watched) Helper() {}
func (w *watched) Errorf(format string, args ...any) {
	w.said = append(w.said, fmt.Sprintf(format, args...))
}

var kept []byte

func TestBudget(t *testing.T) {
	for size, want := range map[int]int{0: 1, 64 << 10: 0} {
		w := &watched{TB: t}
		end := Budget(w, size)
		kept = make([]byte, mostAtLeast+1<<20)
		if end(); len(w.said) != want {
			t.Errorf("%d bytes: %q", size, w.said)
		}
	}
}
