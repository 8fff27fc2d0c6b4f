package main

// page is what the help of a command shows beside its options.
type page struct {
	examples []example
	related  []string // paths of commands, such as "record add"
}

// example is a command line as it would be typed, and what it does.
type example struct{ line, does string }

// pages has a page for each command, by its path; "" is the program itself.
var pages = map[string]page{
	"": {
		examples: []example{
			{"rillwood demo demo", "Make an invented county and its map, to see what comes out."},
			{"rillwood init mycounty", "Begin with ground of your own: a survey file to fill in."},
		},
	},
	"init": {
		examples: []example{
			{"rillwood init mycounty", "Write mycounty/survey.yaml, every setting explained, and the profile it names."},
			{"rillwood init --profile elm-bottoms mycounty", "The same, the profile named."},
		},
		related: []string{"check", "map", "demo"},
	},
	"check": {
		examples: []example{
			{"rillwood check mycounty/survey.yaml", "Look at every layer before the first run; problems come with their remedy."},
			{"rillwood check --json mycounty/survey.yaml", "The same for a program; exit code 1 when there is a problem."},
		},
		related: []string{"init", "map"},
	},
	"map": {
		examples: []example{
			{"rillwood map mycounty/survey.yaml", "Make the map; the results go into the folder the survey names, \"out\" beside it."},
			{"rillwood map mycounty/survey.yaml -o winter2 --profile ours.yaml --explore 5", "Map with a learned profile into another folder, and keep five places for visits that teach."},
			{"rillwood map mycounty/survey.yaml --target spring-morels", "The same ground for another target, into mycounty/out-spring-morels."},
			{"rillwood map -q --json mycounty/survey.yaml", "For a script: no progress, the summary as JSON."},
		},
		related: []string{"check", "compare", "learn"},
	},
	"report": {
		examples: []example{
			{"rillwood report mycounty/out", "Write mycounty/out/report.html again."},
			{"rillwood report mycounty/out --records records -o winter.html", "Show your stops on the map, and how well it told them."},
			{"rillwood report mycounty/out --trip mycounty/trip/trip.json -o day.html", "Draw a planned day on the map, with its list."},
			{"rillwood report mycounty/out2 --before mycounty/out --profile ours.yaml --records records", "Show what was learned between two runs as well."},
		},
		related: []string{"map", "pack", "trip", "score"},
	},
	"pack": {
		examples: []example{
			{"rillwood pack out", "The ten best candidates of the run in \"out\", for phone, GPS and printer: out/pack.zip."},
			{"rillwood pack out --ids 3,7,12 -o saturday.zip", "Three candidates of your choice into another file."},
		},
		related: []string{"map", "report", "trip", "record add"},
	},
	"trip": {
		examples: []example{
			{"rillwood trip mycounty/out --date 2026-12-05 --start 43.3736,-87.0039 --zone America/Chicago", "Plan a day from a place where you can park; trip.gpx is for the phone."},
			{"rillwood trip mycounty/out --date 2026-12-05 --parking 3 --leave 9:30 --back 15:00", "From the parking place of candidate 3, between two times."},
			{"rillwood trip out --date 2026-11-14 --parking 6 --ids 6,9,12 --speed 4 --off-path 2 --tree-minutes 6", "Among three patches, at an easy pace."},
		},
		related: []string{"map", "pack", "report", "effort"},
	},
	"year": {
		examples: []example{
			{"rillwood year out", "What the candidates of the run in \"out\" are worth to every built-in target, month by month."},
			{"rillwood year out --weather station.dly", "And how many good days each month has, by the weather of all years."},
			{"rillwood year out --target spring-morels --best 10 --all", "One other target, ten patches a month, every candidate."},
		},
		related: []string{"map", "pack"},
	},
	"effort": {
		examples: []example{
			{"rillwood effort", "How many trees to check for a 95 % chance of one find, by the built-in profile's first host."},
			{"rillwood effort --rate 3/40 --confidence 90%", "By a rate of your own: 3 of 40 trees carried it."},
			{"rillwood effort --host american-elm --checked 25 --found 1", "What 25 trees with one find tell of the rate."},
			{"rillwood effort --none 40", "What 40 trees without a find tell."},
		},
		related: []string{"learn", "record add"},
	},
	"season": {
		examples: []example{
			{"rillwood season station.dly", "Windows of the last season begun and what is usual, from a GHCN-Daily station file."},
			{"rillwood season weather.csv --units us --forecast week.csv -o outlook", "A table in °F and inches, with coming days; plot, calendar file and JSON into a folder."},
			{"rillwood season station.dly --until 2025-12-31 --records records", "As it stood at the end of 2025, and the rule held against the days of your visits."},
		},
		related: []string{"record add", "learn", "effort"},
	},
	"demo": {
		examples: []example{
			{"rillwood demo demo", "An invented county of 20 by 20 km with every layer, and its map."},
			{"rillwood demo --size 600x400 --seed 7 small", "A smaller one, and another."},
			{"rillwood demo --data-only county", "Only the layers and the survey file."},
		},
		related: []string{"init", "map"},
	},
	"record": {
		examples: []example{
			{"rillwood record template trips.csv", "A table to fill in, each column explained."},
			{"rillwood record add records trips.csv", "Read it into the store of records in the folder \"records\"."},
		},
		related: []string{"learn", "score"},
	},
	"record template": {
		examples: []example{
			{"rillwood record template trips.csv", "Write the table, with examples that are never read in."},
			{"rillwood record template --json winter.csv", "The same for a script."},
		},
		related: []string{"record add", "record note"},
	},
	"record note": {
		examples: []example{
			{"rillwood record note", "How to name a waypoint so that it is a record, as in: elm dead 12/1 ok 20min"},
			{"rillwood record note --json", "The same text for a program."},
		},
		related: []string{"record add", "record template"},
	},
	"record add": {
		examples: []example{
			{"rillwood record add records trips.csv hike.gpx", "Read a table and a phone's waypoints; the same trip again changes nothing."},
			{"rillwood record add --run out records trips.csv", "Candidates by their number on the map in \"out\"."},
			{"rillwood record add --map date=Day,inspected=Trees --dates dmy records old.csv", "A table whose columns have other names and whose days are written 31/12/2025."},
			{"rillwood record add --skip-bad records trips.csv", "Take the rows that are right and list the others."},
		},
		related: []string{"record template", "record note", "record list", "learn"},
	},
	"record list": {
		examples: []example{
			{"rillwood record list records", "Trips, stops, trees and finds by host."},
			{"rillwood record list --json records", "The same for a program."},
		},
		related: []string{"record add", "record export"},
	},
	"record export": {
		examples: []example{
			{"rillwood record export records --out all.csv", "All of it, with exact places: for yourself."},
			{"rillwood record export records --out share.geojson --blur 5000 --no-notes", "For others: places coarsened to 5 km, no notes, no observers."},
			{"rillwood record export records --out places.gpx", "Waypoints for a phone."},
		},
		related: []string{"record list", "record add"},
	},
	"learn": {
		examples: []example{
			{"rillwood learn out records --out ours.yaml", "Learn hit rates and weights from your records into a new profile."},
			{"rillwood learn out --from-layer alluvium.gpkg --field kind --values alluvium --out fitted.yaml", "Fit the bottomland weights to mapped alluvium."},
			{"rillwood learn out --from-layer geology.tif --values 17,26 --out fitted.yaml", "The same from a raster of codes."},
		},
		related: []string{"record add", "map", "score"},
	},
	"score": {
		examples: []example{
			{"rillwood score out records", "How good the map has been by records its profile has not learned from."},
			{"rillwood score out2 records --profile ours.yaml --curve curves", "With a learned profile, and calibration curves drawn into a folder."},
		},
		related: []string{"learn", "compare", "record list"},
	},
	"compare": {
		examples: []example{
			{"rillwood compare out out2", "What changed among the best ten candidates, and why."},
			{"rillwood compare out out2 -o changes --all", "Every candidate, and the changes as GeoJSON and raster."},
		},
		related: []string{"map", "score"},
	},
	"help": {
		examples: []example{
			{"rillwood help map", "Explain map, with examples."},
			{"rillwood help record add", "A command that belongs to another."},
		},
		related: []string{"manual", "completion"},
	},
	"manual": {
		examples: []example{
			{"rillwood manual | man -l -", "Read the manual page."},
			{"rillwood manual > rillwood.1", "Write it to a file, for the folder man1 of your manual pages."},
		},
		related: []string{"help", "completion"},
	},
	"completion": {
		examples: []example{
			{"rillwood completion bash > ~/.local/share/bash-completion/completions/rillwood", "For bash with its completion package. Without that, put the output at the end of ~/.bashrc."},
			{"rillwood completion zsh > ~/.zfunc/_rillwood", "For zsh, in a folder of $fpath."},
			{"rillwood completion fish > ~/.config/fish/completions/rillwood.fish", "For fish."},
		},
		related: []string{"help", "manual"},
	},
}
