package rehearse

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"calotte/topo/contrast"
	"calotte/topo/erp/average"
)

// A Whole is what a test over all sites and samples is rehearsed on.
type Whole struct {
	Sites   []string
	Times   []float64     // s
	People  [][][]float32 // person, epoch, then site by site the samples, µV; of both conditions
	Map     []float64     // of an effect of 1 µV, at each site
	Course  []float64     // of the effect, at each sample
	Between float64       // standard deviation of the effect between people, µV
}

// Take adds a person whose epochs are units that have these sites. Of them the
// samples of the course are kept.
func (w *Whole) Take(units []*average.Average) error {
	var person [][]float32
	for _, u := range units {
		if !slices.Equal(u.Sites, w.Sites) {
			return fmt.Errorf("%s has other sites than those before: bring all onto the same sites first", u.Info.Name)
		}
		from := slices.Index(u.Times, w.Times[0])
		if from < 0 || from+len(w.Times) > len(u.Times) {
			return fmt.Errorf("%s has other samples than those before: bring all to one rate and epoch", u.Info.Name)
		}
		epoch := make([]float32, 0, len(w.Sites)*len(w.Times))
		for _, row := range u.Mean {
			for _, v := range row[from : from+len(w.Times)] {
				epoch = append(epoch, float32(v))
			}
		}
		person = append(person, epoch)
	}
	if len(person) < 2 {
		return fmt.Errorf("a person has %d epochs: expected two or more", len(person))
	}
	w.People = append(w.People, person)
	return nil
}

// Bump is the course of an effect about a window: a raised cosine of twice its
// width, whose mean over the window is one.
func Bump(times []float64, from, to float64) []float64 {
	out := make([]float64, len(times))
	middle, width := (from+to)/2, max(to-from, 1e-3)
	sum, n := 0., 0
	for k, t := range times {
		if far := math.Abs(t-middle) / width; far < 1 {
			out[k] = (1 + math.Cos(math.Pi*far)) / 2
		}
		if t >= from-1e-9 && t <= to+1e-9 {
			sum, n = sum+out[k], n+1
		}
	}
	for k := range out {
		if sum > 0 {
			out[k] *= float64(n) / sum
		}
	}
	return out
}

// Find is in how many rehearsals of a design a test shows something, where an
// effect of a size in µV is planted. Rehearsal i draws from (seed, i), whatever
// the size. Of the test the groups are left out.
func (w *Whole) Find(ctx context.Context, d Design, size float64, count int, seed uint64,
	test contrast.Comparison) (found int, err error) {
	if len(w.People) == 0 || d.People < 2 || d.Epochs < 1 {
		return 0, fmt.Errorf("%d people and %d epochs out of %d: expected two people or more, and one epoch or more",
			d.People, d.Epochs, len(w.People))
	}
	for i := range count {
		test.Groups = w.draw(d, size, rand.New(rand.NewPCG(seed, uint64(i))))
		out, err := test.Run(ctx)
		if err != nil {
			return 0, err
		}
		if out.AnyShown() {
			found++
		}
	}
	return found, nil
}

// draw makes the averages of a rehearsal.
func (w *Whole) draw(d Design, size float64, random *rand.Rand) [2]contrast.Group {
	groups := [2]contrast.Group{{Title: "first"}, {Title: "second"}}
	for k := range d.People {
		epochs := w.People[random.IntN(len(w.People))]
		sums := [2][]float64{make([]float64, len(epochs[0])), make([]float64, len(epochs[0]))}
		for range d.Epochs {
			for g := range sums {
				for j, v := range epochs[random.IntN(len(epochs))] {
					sums[g][j] += float64(v)
				}
			}
		}
		own := size + w.Between*random.NormFloat64()
		for g, sum := range sums {
			groups[g].People = append(groups[g].People, w.average(fmt.Sprintf("person %d", k+1), groups[g].Title, sum,
				d.Epochs, []float64{own, 0}[g]))
		}
	}
	return groups
}

// average is one of a person, out of sums, with an effect.
func (w *Whole) average(name, condition string, sum []float64, epochs int, effect float64) *average.Average {
	a := &average.Average{Sites: w.Sites, Times: w.Times, Info: average.Info{Kind: average.Participant, Name: name,
		Condition: condition, Epochs: &average.Counts{Kept: epochs}}}
	n := len(w.Times)
	for i := range w.Sites {
		row := make([]float64, n)
		for k := range row {
			row[k] = sum[i*n+k]/float64(epochs) + effect*w.Map[i]*w.Course[k]
		}
		a.Mean = append(a.Mean, row)
	}
	return a
}
