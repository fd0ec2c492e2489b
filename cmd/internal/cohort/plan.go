package cohort

import (
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/wearer"
)

// A Plan is the command lines of a study.
type Plan struct {
	*Recipe
	Dir    string // of the results
	People []Participant
	spared []string // files of all recordings, of whom the recipe does not choose, too
}

// NewPlan finds the people of a recipe.
func NewPlan(r *Recipe) (*Plan, error) {
	p := &Plan{Recipe: r, Dir: r.SeenFrom(r.results)}
	if err := p.findPeople(); err != nil {
		return nil, err
	}
	there := map[string]bool{}
	for _, x := range p.People {
		there[x.Name] = true
	}
	for _, name := range slices.Sorted(maps.Keys(r.people)) {
		if !there[name] {
			return nil, fmt.Errorf("%s: people: there is no %s: there are %s", r.Path, name,
				console.SomeOf(p.Names()))
		}
	}
	if err := p.checkConditions(); err != nil {
		return nil, err
	}
	if err := p.checkNames(); err != nil {
		return nil, err
	}
	return p, p.checkClashes()
}

// averagePath is the table of a person's or the group's average.
func (p *Plan) averagePath(folder, name, slug string) string {
	return filepath.Join(p.Dir, folder, name+"_"+slug+"_average.tsv")
}

// GroupFolder holds the averages of the group, in the results.
const GroupFolder = "group"

// OfPerson are the tasks of a person, one after the other.
func (p *Plan) OfPerson(x Participant) []Task {
	settings := p.average.with(p.Recipe.people[x.Name])
	repairs := len(settings.get("repair")) > 0
	if repairs && p.head != "" && settings.get("head") == nil {
		settings = append(settings, setting{key: "head", values: []string{p.head}})
	}
	if p.declared != "" {
		settings = append(settings, setting{key: "declared", values: []string{p.declared}})
	}
	args, files := p.args(settings)
	line := append([]string{"average"}, x.recordings...)
	line = append(append(line, args...), "--name="+x.Name, "--output="+filepath.Join(p.Dir, x.Name))
	tasks := []Task{{
		ID: "average " + x.Name, Person: x.Name, Args: line,
		Settings: append([]string{"average", x.Name}, settings.settings()...),
		Inputs:   append(slices.Clone(x.files), files...),
	}}
	for _, condition := range p.conditions() {
		tasks[0].Outputs = append(tasks[0].Outputs, averageFiles(x.Name+"/"+x.Name+"_"+condition)...)
	}
	if x.electrodes != "" && p.head != "" {
		tasks = append(tasks, p.capTask(x))
	}
	return tasks
}

// inputs are the recipe, all recordings, and the files that tasks read and none
// of them makes.
func (p *Plan) inputs() []string {
	var tasks []Task
	for _, x := range p.People {
		tasks = append(tasks, p.OfPerson(x)...)
	}
	for _, stage := range p.OfGroup(p.Names()) {
		tasks = append(tasks, stage...)
	}
	made := map[string]bool{}
	for _, t := range tasks {
		for _, name := range t.Outputs {
			made[filepath.Join(p.Dir, filepath.FromSlash(name))] = true
		}
	}
	read := map[string]bool{p.Path: true}
	for _, path := range p.spared {
		read[path] = true
	}
	for _, t := range tasks {
		for _, path := range t.Inputs {
			if !made[path] {
				read[path] = true
			}
		}
	}
	return slices.Sorted(maps.Keys(read))
}

// averageSuffixes end the names of all files that an average may consist of.
var averageSuffixes = []string{"_average.tsv", "_average.json", "_sem.tsv", "_pairs.tsv", "_epochs.npy", "_epochs.tsv"}

// averageFiles are those of one average.
func averageFiles(stem string) []string {
	var files []string
	for _, suffix := range averageSuffixes {
		files = append(files, stem+suffix)
	}
	return files
}

// capTask compares a person's electrodes with where the head says that they
// belong.
func (p *Plan) capTask(x Participant) Task {
	head := p.SeenFrom(p.head)
	inputs := []string{x.electrodes, head}
	if x.coordinates != "" {
		inputs = append(inputs, x.coordinates)
	}
	printed := x.Name + "/" + x.Name + capSuffix
	return Task{
		ID: "capcheck " + x.Name, Person: x.Name,
		Args:     []string{"capcheck", x.electrodes, "--head=" + head, "--format=json"},
		Settings: []string{"capcheck"}, Inputs: inputs, Printed: printed, Outputs: []string{printed},
	}
}

const capSuffix = wearer.CapCheckSuffix

func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}

// OfGroup are the tasks of the group over people whose averages are there, in
// stages: the tasks of a stage need those before it.
func (p *Plan) OfGroup(people []string) [][]Task {
	if len(people) == 0 {
		return nil
	}
	var averages []string
	for _, name := range people {
		for _, condition := range p.conditions() {
			averages = append(averages, p.averagePath(name, name, condition))
		}
	}
	combined := []Task{p.combineTask(p.combineID(p.conditions()[0]), averages, p.conditions())}
	for _, d := range p.differences {
		slug := strings.Replace(d, ",", "-", 1)
		combined = append(combined,
			p.combineTask(p.combineID(slug), averages, []string{slug}, "--difference="+d))
	}
	stages := [][]Task{combined}
	last := ""
	for _, it := range p.items {
		stage := stageOf(it.verb)
		if stage != last {
			stages, last = append(stages, nil), stage
		}
		k := len(stages) - 1
		stages[k] = append(stages[k], p.itemTask(it, averages))
	}
	return stages
}

// combineID names the task that makes an average of the group: that of all
// conditions, or one of a difference.
func (p *Plan) combineID(slug string) string {
	if slices.Contains(p.conditions(), slug) {
		return "combine " + p.Name
	}
	return "combine " + p.Name + "_" + slug
}

// stageOf names what can be made side by side: figures may mark what tests
// found, and the page may show all.
func stageOf(verb string) string {
	switch {
	case slices.Contains(figureVerbs, verb):
		return "figures"
	case verb == "explore":
		return "page"
	}
	return "numbers"
}

func (p *Plan) combineTask(id string, averages, slugs []string, more ...string) Task {
	args, files := p.args(p.combine)
	line := append(append(append([]string{"combine"}, averages...), args...), more...)
	t := Task{
		ID: id, Args: append(line, "--name="+p.Name, "--output="+filepath.Join(p.Dir, GroupFolder)),
		Settings: append(append([]string{"combine", p.Name}, p.combine.settings()...), more...),
		Inputs:   append(withErrors(averages), files...),
	}
	for _, slug := range slugs {
		t.Outputs = append(t.Outputs, averageFiles(GroupFolder+"/"+p.Name+"_"+slug)...)
	}
	return t
}

// withErrors are averages with what lies beside them, where it is there.
func withErrors(averages []string) []string {
	files := slices.Clone(averages)
	for _, path := range averages {
		stem := strings.TrimSuffix(path, "_average.tsv")
		for _, suffix := range []string{"_average.json", "_sem.tsv", "_pairs.tsv"} {
			if exists(stem + suffix) {
				files = append(files, stem+suffix)
			}
		}
	}
	return files
}

// described are the JSON beside averages, where they are there.
func described(averages []string) []string {
	var files []string
	for _, path := range averages {
		if file := strings.TrimSuffix(path, ".tsv") + ".json"; exists(file) {
			files = append(files, file)
		}
	}
	return files
}

// itemTask makes a figure, a table or a page of the group's averages.
func (p *Plan) itemTask(it item, people []string) Task {
	inputs := it.inputs
	if inputs == nil {
		inputs = p.slugs()
	}
	var averages []string
	for _, in := range inputs {
		if in == everyPerson {
			averages = append(averages, people...)
		} else {
			averages = append(averages, p.averagePath(GroupFolder, p.Name, in))
		}
	}
	settings := p.withDefaults(it)
	args, files := p.args(settings)
	folder := folderOf(it)
	line := append(append([]string{it.verb}, averages...), args...)
	return Task{
		ID:       it.id(),
		Args:     append(line, "--output="+filepath.Join(p.Dir, folder, it.name)),
		Settings: append(append([]string{it.verb}, inputs...), settings.settings()...),
		// What is said of errors comes from the people, and from what their
		// JSON says of gaze, epochs and how they were made.
		Inputs:  slices.Concat(withErrors(averages), people, described(people), files, p.checksOf(it, people)),
		Outputs: outputsOf(folder, it.name),
	}
}

// checksOf are the cap checks beside the averages of people, where placement by
// them is asked for.
func (p *Plan) checksOf(it item, people []string) []string {
	if !slices.ContainsFunc(it.get("placement"), func(v string) bool { return strings.Contains(v, "checked") }) {
		return nil
	}
	var files []string
	for _, path := range people {
		dir := filepath.Dir(path)
		if check := filepath.Join(dir,
			filepath.Base(dir)+capSuffix); exists(check) && !slices.Contains(files, check) {
			files = append(files, check)
		}
	}
	return files
}

// withDefaults adds the head, the windows and the declared tests of the recipe
// where the verb knows them and the item does not say otherwise.
func (p *Plan) withDefaults(it item) section {
	settings := slices.Clone(it.section)
	c := p.verbs.Fresh(it.verb)
	silent := func(keys ...string) bool {
		return !slices.ContainsFunc(keys, func(k string) bool { return settings.get(k) != nil })
	}
	if p.head != "" && c.Flags().Lookup("head") != nil && silent(p.verbs.HeadFlags...) && p.wantsHead(it) {
		settings = append(settings, setting{key: "head", values: []string{p.head}})
	}
	if p.windows != "" && c.Flags().Lookup("windows") != nil && silent("windows", "window", "at") {
		settings = append(settings, setting{key: "windows", values: []string{p.windows}})
	}
	if p.declared != "" && c.Flags().Lookup("declared") != nil && silent("declared") {
		settings = append(settings, setting{key: "declared", values: []string{p.declared}})
	}
	return settings
}

// wantsHead reports whether the verb uses a head as the item has it.
func (p *Plan) wantsHead(it item) bool {
	switch it.verb {
	case "traces":
		return it.get("maps") != nil || it.get("arrange") != nil
	case "components":
		return it.get("placement") != nil
	}
	return true
}

// folderOf is where an item goes, in the results.
func folderOf(it item) string {
	if it.verb == "explore" {
		return ""
	}
	if ext := strings.ToLower(filepath.Ext(it.name)); ext == ".tsv" || ext == ".json" {
		return "tables"
	}
	return "figures"
}

// outputsOf are the files of an item: a table has its JSON beside it, a
// comparison its marks.
func outputsOf(folder, name string) []string {
	in := func(name string) string { return filepath.ToSlash(filepath.Join(folder, name)) }
	ext := filepath.Ext(name)
	stem := strings.TrimSuffix(name, ext)
	switch ext {
	case ".tsv":
		return []string{in(name), in(stem + ".json"), in(stem + "_marks.tsv"), in(stem + "_marks.json")}
	case "": // a folder of frames
		return []string{in(name) + "/frame-*", in(name) + "/frames.tsv", in(name) + "/frames.json"}
	}
	return []string{in(name)}
}
