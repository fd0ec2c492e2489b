// Command calotte maps event-related potentials over the scalp, compares the
// hemispheres, and says where the electrodes go.
//
// The README has three short walks; this is the rest. All examples work on the
// files of the demo:
//
//	calotte demo
//
// Every verb explains itself: calotte VERB --help.
//
// # Events and conditions
//
// Recordings in a BIDS data set are read with the tables beside them, and
// events can be chosen by any of their columns:
//
//	calotte contents calotte-demo/recordings --participant 01
//	calotte average calotte-demo/recordings --participant 01 \
//	    --condition "early=trial_type:known and part:first" --epoch -200..600ms -o early
//
// With --highpass 0.1Hz --lowpass 30Hz --notch 50Hz the recording is filtered
// with zero phase before it is cut, and the JSON beside the average says how.
//
// # Which epochs count
//
//	calotte average calotte-demo/recordings/sub-01/eeg/sub-01_task-flags_eeg.edf \
//	    --condition known=known --condition novel=novel --reference average \
//	    --blinks VEOG --reject robust --repair found --save-epochs -o kept
//
// takes blinks out by regression on the eye channel, looks for bad electrodes
// and repairs them, and finds limits from the data. It says what was rejected,
// why and at which electrode, how good the averages are, and what would keep
// more epochs. The epochs lie beside the averages: …_epochs.npy for any program
// that reads NumPy arrays, and …_epochs.tsv with a line for every event. Look
// at them,
//
//	calotte traces --epochs kept/sub-01_known_epochs.npy --sites P8 -o epochs.png
//
// and write what you decide into a table, decisions.tsv, with tabs between its
// columns:
//
//	file                       onset  electrode  reason
//	sub-01_task-flags_eeg.edf  4.78   n/a        coughed
//
// This averages again without what you excluded:
//
//	calotte average kept/sub-01_*_epochs.npy --exclude decisions.tsv -o decided
//
// Given to the first command, the same file is heeded before limits are found
// in the data. Epochs that were cleaned elsewhere come in as an array, too,
// with --sites, --rate and --first.
//
// Before the wearer leaves, calotte contents --check RECORDING says on one
// screen which electrodes are flat, noisy or clipped, how loud the mains are,
// and how many epochs an average could expect.
//
// # Eyes, muscle and mains
//
// Regression on an eye channel takes blinks out and nothing else, and losing
// every epoch with a blink may leave too few. unmix takes a recording apart
// into independent components and says what each looks like:
//
//	calotte unmix calotte-demo/recordings --participant 01 --dimensions 20 -o components
//
// Look at components/sub-01_unmix.pdf, change yes and no in sub-01_unmix.tsv,
// and average without what the table names:
//
//	calotte average calotte-demo/recordings --participant 01 --condition known=known \
//	    --unmix components/sub-01_unmix.tsv --reference average --reject 150uV -o components
//
// In a recipe the tables stand with the people they are of, such as people:
// {sub-01: {unmix: components/sub-01_unmix.tsv}}.
//
// # Maps
//
// From the people behind a grand average, or the saved epochs of one person,
// map --field draws how sure the mean is, between the electrodes as well as at
// them: t, its standard error sem, or the agreement of people. --field
// interpolation needs only the average: how wrong the field between electrodes
// may be, by how rough it is. Where it may be off by much the map is hatched,
// and ends. --doubt 2sem stipples what is within two errors of zero. --view
// left,top,right turns the head, --scales difference gives differences a scale
// of their own, --palette grey is for print without colour, --field-as bands
// draws lines and areas only, for journals that refuse images in line art, and
// --source-data DIR writes the numbers behind every panel. Digitised positions
// come by --electrodes, a head by --head.
//
// # Waveforms
//
// For conditions of the same people the band is on their difference:
//
//	calotte traces calotte-demo/results/group/pilots_known_average.tsv \
//	    calotte-demo/results/group/pilots_novel_average.tsv --sites P7,P8 \
//	    --window n170=150..190ms -o traces.pdf
//
// traces --maps puts the maps of declared windows below their time, and traces
// --arrange scalp puts every site's waveform where the site is.
//
// # Windows and specs
//
// Windows that were declared before the data were seen stand in a file
// (--windows FILE, columns name and window), whose SHA-256 goes into every
// output. What would be a long command line stands in a file as well, with the
// flags as keys; calotte map --spec-schema is its JSON Schema:
//
//	figure: map
//	inputs: calotte-demo/results/group/pilots_*_average.tsv
//	at: [95ms, 170ms, 350ms]
//	width: 114mm
//
//	calotte map --spec sheet.yaml -o sheet.pdf
//
// # What a figure was made from
//
// is in the figure. The first of these tells whether that is unchanged, the
// second does the work again and says whether the same comes out:
//
//	calotte origin maps.pdf --in grand --in calotte-demo --in calotte-demo/results
//	calotte origin maps.pdf --in grand --in calotte-demo --redo
//
// # Films and the interactive page
//
// frames draws a map for each instant, as numbered pictures or as one film:
//
//	calotte frames calotte-demo/results/group/pilots_known_average.tsv \
//	    --during 0..400ms --every 10ms -o film.gif
//
// explore writes one HTML file to look at a study by hand: maps follow a cursor
// in the waveforms, left stands against right with its interval, and addresses
// bring a figure back. It opens anywhere without a network and can go with a
// paper as a supplement; people's single averages are in it only if you ask.
//
//	calotte explore calotte-demo/results/group/pilots_*_average.tsv \
//	    --head calotte-demo/pilots_head.json --link 'figure 1=#at=170ms&pair=P7,P8' -o study.html
//
// # Differences
//
// Of a difference of conditions asymmetry tests whether the conditions make the
// sides differ more. Whether, and roughly when, two conditions differ anywhere
// is a question for clusters:
//
//	calotte compare calotte-demo/results/group/pilots_known_average.tsv \
//	    calotte-demo/results/group/pilots_novel_average.tsv --during 100..250ms -o known-novel.tsv
//
// Where clusters are found, their sites come in a table of their own, which a
// map takes by --mark. The numbers without a test, at any site, are calotte
// values; every average comes with its mirror pairs, …_pairs.tsv, as right
// minus left with its standard error. components measures means, peaks, onsets
// and areas in windows, with their errors, as a table that R and pandas read as
// it is; --each-epoch makes one for mixed models. Whether right minus left is
// larger in one condition, or conditions differ more in one group of people:
//
//	calotte components calotte-demo/results/group/pilots_known_average.tsv \
//	    calotte-demo/results/group/pilots_novel_average.tsv --window n170=150..190ms --of P7 \
//	    --difference sides,conditions -o interaction.tsv
//
// alternatives takes one difference in all ways that a recipe's section of
// defensible choices allows, and tests them jointly:
//
//	calotte alternatives calotte-demo/recipe.yaml -o alternatives.png
//
// rehearse plans a study on the noise of recordings that are there: how many
// people and epochs it takes to find an effect, and how often one is found that
// is not there:
//
//	calotte rehearse calotte-demo/recipe.yaml --of P8 --people 12,24 --epochs 30,60
//
// # A whole study in one recipe
//
// A recipe says what is recorded, how it is averaged, and what is made of it;
// its sections hold the flags of the verbs that do the work. init writes one
// for a BIDS folder:
//
//	calotte cohort init calotte-demo/recordings > my-recipe.yaml
//	calotte cohort plan my-recipe.yaml
//	calotte cohort run calotte-demo/recipe.yaml
//	calotte cohort status calotte-demo/recipe.yaml
//	calotte cohort check --read-data calotte-demo/recipe.yaml
//
// The results are a folder as BIDS has it for derivatives: a folder a
// participant, group, tables, figures, the interactive page, the methods text,
// a table of quality, and index.html that shows all. Every step is keyed by the
// SHA-256 of its inputs and settings, so a second run does only what has
// changed, and one that was killed goes on; what the recipe no longer asks for
// is removed. A participant who fails is told at the end and does not stop the
// others. check reads recordings and results again and says what is no longer
// as it was, be it a disk that loses bits. With --engine slurm participants are
// done side by side on a cluster, with the same bytes as on a laptop. calotte
// cohort schema is the JSON Schema of recipes.
//
// # Where the electrodes go
//
// place prints the sites of the 10-20 system or any other (--sites 10-10,
// --sites 10-5, or names) on a head: of three tapes, of halves, or scanned
// (--scan head.ply --landmarks landmarks.tsv). guide makes sheets to print and
// to work by. Once the cap is on, capcheck says how far it is off and which way
// to move it, from digitised electrodes or from six readings of a tape:
//
//	calotte capcheck --tape "Nz-Fpz 4.2cm, Iz-Oz 3.0cm, LPA-T7 3.4cm, RPA-T8 3.9cm, \
//	    LPA-Fpz 13.9cm, RPA-Fpz 14.8cm" \
//	    --circumference 560mm --nasion-inion 36cm --ear-ear 34.5cm
//
// asymmetry --effect 1uV says how far a cap may sit off, and which readings
// tell it so well, for placement to make less than that of right minus left.
// What capcheck --format json prints of a person, beside the average as
// sub-01_capcheck.json, puts the rest of the error into intervals:
//
//	calotte asymmetry calotte-demo/results/group/pilots_known_average.tsv --at 150..190ms \
//	    --of P7 --placement checked,5mm --placement-shared 2mm
//
// The verbs that place or map sites take the head by --head P014_head.json, and
// map and values take digitised positions by --electrodes, so that maps have
// this head's proportions.
package main
