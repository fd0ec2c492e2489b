package likeness

import (
	"bytes"
	"encoding/json"
	"maps"
	"slices"

	"calotte/render/page"
)

// pages compares interactive pages: what they were made of, their data, and all
// else.
func (c *comparison) pages(old, again []byte) error {
	for _, part := range []struct {
		id      string
		compare func(*comparison, []byte, []byte) error
	}{{"provenance", (*comparison).record}, {"study", (*comparison).described}} {
		begin := []byte(`<script type="application/json" id="` + part.id + `">`)
		left, restA := cutElement(old, begin)
		right, restB := cutElement(again, begin)
		if left == nil || right == nil {
			return differs("it has no %s", part.id)
		}
		if err := part.compare(c, left, right); err != nil {
			return err
		}
		old, again = restA, restB
	}
	if !bytes.Equal(old, again) {
		return differs("the page around the data differs")
	}
	return nil
}

// cutElement takes what stands between a beginning and the end of a script out
// of a page.
func cutElement(page, begin []byte) (inside, rest []byte) {
	before, after, ok := bytes.Cut(page, begin)
	inside, tail, whole := bytes.Cut(after, []byte("</script>"))
	if !ok || !whole {
		return nil, page
	}
	return inside, slices.Concat(before, begin, tail)
}

// packedKeys are those of a table of numbers in a page's data.
var packedKeys = []string{"columns", "data", "order", "rows", "step"}

// packed compares tables of numbers where the keys are those of one: whole
// multiples of a step, of which a number may have been rounded to the one
// beside.
func (w walk) packed(a, b map[string]any, place string) (isTable bool, err error) {
	if keys := slices.Sorted(maps.Keys(b)); !slices.Equal(keys, packedKeys) ||
		!slices.Equal(slices.Sorted(maps.Keys(a)), keys) || a["data"] == b["data"] {
		return false, nil
	}
	for _, key := range []string{"rows", "columns", "order", "step"} {
		if err := w.compare(a[key], b[key], place+"."+key); err != nil {
			return true, err
		}
	}
	left, err := unpacked(a)
	if err != nil {
		return true, differs("%s is damaged: %v", named(place), err)
	}
	right, err := unpacked(b)
	if err != nil {
		return true, err
	}
	var most, apart int64
	for i, row := range right {
		for j, n := range row {
			most = max(most, n, -n)
			apart = max(apart, n-left[i][j], left[i][j]-n)
		}
	}
	if apart > 1 {
		return true, differs("the numbers of %s differ by up to %d steps", named(place), apart)
	}
	if most > 0 {
		w.numbers = max(w.numbers, float64(apart)/float64(most))
	}
	return true, nil
}

func unpacked(table map[string]any) ([][]int64, error) {
	text, err := json.Marshal(table)
	if err != nil {
		return nil, err
	}
	return page.Unpack(text)
}

// unseen reports whether two values are places of a site that a view of a page
// does not show. One right behind the head is at its rim, in a direction that
// rounding chooses.
func unseen(a, b map[string]any, place string) bool {
	return place == ".views[].places[]" && a["seen"] == false && b["seen"] == false
}
