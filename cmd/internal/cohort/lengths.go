package cohort

import "fmt"

// longestFile is how many bytes the name of a file has at most, on most
// systems.
const longestFile = 255

// checkNames refuses names of people, of the study and of conditions that
// together would make longer ones. Those of items are bounded where they are
// read.
func (p *Plan) checkNames() error {
	condition := ""
	for _, slug := range p.slugs() {
		if len(slug) > len(condition) {
			condition = slug
		}
	}
	for _, name := range append(p.Names(), p.Name) {
		file, record := name+"_"+condition+"_average.json", recordName("combine "+name+"_"+condition)
		if n := max(len(file), len(record)); n > longestFile {
			return fmt.Errorf("%s: the names %q and %q make that of a file of %d bytes: choose shorter "+
				"ones, of at "+
				"most %d together", p.Path, name, condition, n, longestFile-n+len(name)+len(condition))
		}
	}
	return nil
}
