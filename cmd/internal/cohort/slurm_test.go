package cohort

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestPieces(t *testing.T) {
	count := func(n int) []int {
		var out []int
		for i := range n {
			out = append(out, i)
		}
		return out
	}
	for _, c := range []struct {
		numbers []int
		size    int
		want    string
	}{
		{count(25), 11, "0+0-10 11+0-10 22+0-2"},
		{count(1500), 1000, "0+0-999 1000+0-499"},
		{[]int{0, 1, 2, 12, 14, 15, 16}, 1000, "0+0-2,12,14-16"},
		{[]int{7}, 1, "7+0"},
		{[]int{3, 4, 5}, 1, "3+0 4+0 5+0"},
		{[]int{2, 1001, 1002, 5000}, 1000, "2+0,999 1002+0 5000+0"},
	} {
		var got []string
		for _, p := range pieces(c.numbers, c.size) {
			got = append(got, fmt.Sprintf("%d+%s", p.first, p.array))
		}
		if text := strings.Join(got, " "); text != c.want {
			t.Errorf("%d people, %d at once: %s, want %s", len(c.numbers), c.size, text, c.want)
		}
	}
}

// Pieces hold everyone once, in arrays whose indexes the cluster takes, and
// whose lists no command line is too short for.
func TestPiecesHoldEveryone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		size := rapid.IntRange(1, mostInArray).Draw(t, "size")
		numbers := rapid.SliceOfDistinct(rapid.IntRange(0, 20_000), rapid.ID).Draw(t, "numbers")
		slices.Sort(numbers)
		var got []int
		for _, p := range pieces(numbers, size) {
			if len(p.array) > 4*mostInArray {
				t.Fatalf("a list of %d bytes", len(p.array))
			}
			before := len(got)
			for part := range strings.SplitSeq(p.array, ",") {
				from, to, many := strings.Cut(part, "-")
				if !many {
					to = from
				}
				a, errA := strconv.Atoi(from)
				b, errB := strconv.Atoi(to)
				if errA != nil || errB != nil || a > b || b >= size {
					t.Fatalf("%q of an array below %d", part, size)
				}
				for k := a; k <= b; k++ {
					got = append(got, p.first+k)
				}
			}
			if p.people != len(got)-before {
				t.Fatalf("%d people of %d", p.people, len(got)-before)
			}
		}
		if !slices.Equal(got, numbers) {
			t.Fatalf("%v became %v", numbers, got)
		}
	})
}

func TestParseQueue(t *testing.T) {
	for _, c := range []struct {
		text  string
		jobs  int
		stuck string
	}{
		{"", 0, ""},
		{"RUNNING None\nPENDING Dependency\n", 2, ""},
		{"PENDING Priority\nPENDING Dependency\n", 2, ""},
		{"PENDING PartitionTimeLimit\nPENDING Dependency\n", 2, "PartitionTimeLimit"},
		{"PENDING (BadConstraints)\n", 1, "BadConstraints"},
		{"PENDING DependencyNeverSatisfied\n", 1, "DependencyNeverSatisfied"},
		{"PENDING AssocMaxJobsLimit\nRUNNING None\nPENDING Dependency\n", 3, ""},
		{"PENDING AssocMaxJobsLimit\nPENDING Resources\n", 2, ""},
		{"PENDING ReqNodeNotAvail, UnavailableNodes:n1\n", 1, "ReqNodeNotAvail, UnavailableNodes:n1"},
		{"PENDING Dependency\n", 1, ""},
	} {
		if q := parseQueue(c.text); q.jobs != c.jobs || q.stuck != c.stuck {
			t.Errorf("%q: %+v", c.text, q)
		}
	}
}
