package measure_test

import (
	"errors"
	"reflect"
	"strings"
	"testing"

	"calotte/layout/hostile"
	"calotte/layout/rowtable"
	"calotte/topo/measure"
	"calotte/topo/unit"
)

func TestReadWindows(t *testing.T) {
	const table = "name\twindow\tpolarity\tsites\r\n" +
		"first\t80..100ms\tpositive\tO1, Oz,O2\r\n" +
		"second\t0.15s..190ms\tnegative\tn/a\r\n" +
		"third\t300..500ms\tn/a\tPz\r\n"
	span := func(text string) (s unit.Span) {
		if err := s.Set(text); err != nil {
			t.Fatal(err)
		}
		return s
	}
	want := []measure.Window{
		{Name: "first", Span: span("80..100ms"), Polarity: measure.Positive, Sites: []string{"O1", "Oz", "O2"}},
		{Name: "second", Span: span("150..190ms"), Polarity: measure.Negative},
		{Name: "third", Span: span("300..500ms"), Sites: []string{"Pz"}},
	}
	got, err := measure.ReadWindows(strings.NewReader(table))
	if err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("%+v, %v, want %+v", got, err, want)
	}
}

func TestReadWindowsRefuses(t *testing.T) {
	for name, c := range map[string]struct{ table, want string }{
		"nothing": {"", "nothing: expected a header line with name and window"},
		"no rows": {"name\twindow\n", "no window: expected a line for each"},
		"no unit": {"name\twindow\nearly\t150..190\n",
			`line 2, column "window": "150..190": expected two times such as 150..190ms`},
		"reversed":     {"name\twindow\nearly\t190..150ms\n", `line 2, column "window"`},
		"no name":      {"name\twindow\nn/a\t150..190ms\n", `line 2, column "name": no name`},
		"a name twice": {"name\twindow\na\t1..2ms\na\t3..4ms\n", `line 3, column "name": "a" a second time`},
		"a polarity": {"name\twindow\tpolarity\na\t1..2ms\tup\n",
			`"up": expected positive, negative or either`},
		"an unknown site": {"name\twindow\tsites\na\t1..2ms\tP7,Q99\n", `"Q99": expected sites such as P7,P8`},
		"no UTF-8":        {"name\twindow\n\xff\t1..2ms\n", "no UTF-8"},
	} {
		_, err := measure.ReadWindows(strings.NewReader(c.table))
		var e *rowtable.Error
		if !errors.As(err, &e) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
	}
}

func FuzzReadWindows(f *testing.F) {
	f.Add("name\twindow\tpolarity\tsites\nearly\t150..190ms\tnegative\tP7,P8\n")
	f.Add("name,window\nlate,0.3s..500ms\n")
	f.Fuzz(func(t *testing.T, table string) {
		defer hostile.Budget(t, len(table))()
		windows, err := measure.ReadWindows(strings.NewReader(table))
		if err != nil {
			return
		}
		for _, w := range windows {
			if w.Name == "" || !(w.Span.From < w.Span.To) {
				t.Errorf("%+v from %q", w, table)
			}
		}
	})
}
