package main

import (
	"bytes"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/cmd/internal/session"
	"calotte/topo/erp/average"
	"calotte/topo/erp/store"
)

// onShelf runs a command line whose averages come from a shelf.
func onShelf(t *testing.T, shelf *archive.Shelf, args []string) (printed string) {
	t.Helper()
	var out, errs bytes.Buffer
	a := &app{&session.Session{Stdin: strings.NewReader(""), Stdout: &out, Stderr: &errs, Shelf: shelf}}
	if code := console.Report(&errs, a.run(t.Context(), args)); code != console.OK {
		t.Fatalf("calotte %s: exit %d: %s", strings.Join(args, " "), code, errs.String())
	}
	return out.String() + errs.String()
}

// Verbs that share averages print and write what they would alone, and leave
// the averages as they were read.
func TestVerbsShareAverages(t *testing.T) {
	dir, path := smallStudy(t, smallRecipe)
	must(t, "cohort", "run", path)
	made := filepath.Join(dir, "results")
	tables, err := filepath.Glob(filepath.Join(made, "*", "*_average.tsv"))
	if err != nil || len(tables) != 9 { // of 3 people and the group
		t.Fatalf("%v, %v", tables, err)
	}
	people := tables[3:]
	group := func(condition string) string {
		return filepath.Join(made, "group", "pilots_"+condition+"_average.tsv")
	}
	settled := func() bool {
		for _, path := range listing(t, made) {
			if file, info, err := disk.Open(path); err != nil {
				t.Fatal(err)
			} else if file.Close(); !disk.StampOf(info).Settled(time.Now()) {
				return false
			}
		}
		return true
	}
	for !settled() {
		time.Sleep(50 * time.Millisecond)
	}
	shelf := archive.NewShelf(16 << 20)
	for _, line := range []string{
		"combine PEOPLE --name all -o OUT",
		"combine PEOPLE --name all --difference go,stop -o OUT",
		"combine PEOPLE --name all --centre median -o OUT",
		"combine PEOPLE --name all --reference Cz -o OUT",
		"combine PEOPLE --name all --onto Fz,Cz,Pz -o OUT",
		"combine ONE --difference go,stop -o OUT",
		"components PEOPLE --window 100..200ms -o OUT/components.tsv",
		"components PEOPLE --window 100..200ms --reference average -o OUT/components.tsv",
		"components GO STOP --window 100..200ms --of P7,P8 --difference conditions -o OUT/components.tsv",
		"components DIFFERENCE --window 100..200ms -o OUT/components.tsv",
		"asymmetry PEOPLE --at 100..200ms --of P7 -o OUT/asymmetry.tsv",
		"asymmetry GO --at 100..200ms --of P7 -o OUT/asymmetry.tsv",
		"compare GO STOP --during 50..250ms -o OUT/clusters.tsv",
		"compare GO STOP --during 50..250ms --reference Cz -o OUT/clusters.tsv",
		"map PEOPLE --at 100ms -o OUT/map.svg",
		"map GO --at 100ms --field t -o OUT/map.svg",
		"values GO --at 100ms -o OUT/values.tsv",
		"traces PEOPLE --sites Cz -o OUT/traces.svg",
		"traces GO STOP --sites Cz -o OUT/traces.svg",
		"explore GO STOP DIFFERENCE -o OUT/study.html",
		"explore PEOPLE --participants -o OUT/study.html",
	} {
		t.Run(line, func(t *testing.T) {
			args := func(out string) []string {
				var args []string
				for _, word := range strings.Fields(line) {
					switch word {
					case "PEOPLE":
						args = append(args, people...)
					case "ONE":
						args = append(args, people[:2]...)
					case "GO", "STOP":
						args = append(args, group(strings.ToLower(word)))
					case "DIFFERENCE":
						args = append(args, group("go-stop"))
					default:
						args = append(args, strings.Replace(word, "OUT", out, 1))
					}
				}
				return args
			}
			alone, shared := t.TempDir(), t.TempDir()
			want := onShelf(t, nil, args(alone))
			for range 2 { // the second time all of it is on the shelf
				got := onShelf(t, shelf, append(args(shared), "--force"))
				if strings.ReplaceAll(got, shared, alone) != want {
					t.Errorf("it says\n%s, alone\n%s", got, want)
				}
				sameResults(t, results(t, shared), results(t, alone))
			}
		})
	}
	found := 0
	for _, table := range tables {
		want, _, err := archive.Load(table, average.Clock{})
		if err != nil {
			t.Fatal(err)
		}
		for _, need := range []store.Need{store.Everything, store.Means} {
			kept, _, err := shelf.Load(table, average.Clock{}, need)
			if err != nil {
				t.Fatal(err)
			}
			if again, _, _ := shelf.Load(table, average.Clock{}, need); again == kept {
				found++
			}
			if need == store.Means {
				want.SEM, want.Pairs = nil, average.Pairs{}
			}
			if !reflect.DeepEqual(kept, want) {
				t.Errorf("%s was written to", table)
			}
		}
	}
	if found != 2*len(tables) {
		t.Errorf("%d averages were kept, want %d", found, 2*len(tables))
	}
}
