package habitat

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"rillwood/habitat/handover"
	"rillwood/raster"
)

// publication writes what a run found. Everything is made in a folder of its
// own beside the results and takes their place when all of it is whole, so a
// run that fails leaves the results of the one before as they were.
type publication struct {
	in     *Inputs
	ground *ground
	judged *judgement
	table  *HostTables
	worth  *appraisal
	short  *Shortlist
	files  []InputFile
	layers []string
	o      runOptions
	claim  *handover.Claim
	folder string
	id     string
	sum    Summary
	seen   overviewOnce
}

func (p *publication) write(ctx context.Context) (Summary, error) {
	stage, err := p.claim.Stage()
	if err != nil {
		return Summary{}, err
	}
	p.id = p.runID()
	p.sum = p.summarise()

	files := []string{"suitability.tif", "shortlist.geojson"}
	// The picture is drawn on one core while the rasters are packed.
	drawn := make(chan error, 1)
	if p.in.Survey.Output.Preview {
		files = append(files, previewName)
		go func() { drawn <- p.writePreview(filepath.Join(stage, previewName)) }()
	} else {
		drawn <- nil
	}
	layers, err := p.writeRasters(ctx, stage)
	if perr := <-drawn; err == nil {
		err = perr
	}
	if err != nil {
		return Summary{}, err
	}
	if err := p.writeShortlist(filepath.Join(stage, "shortlist.geojson")); err != nil {
		return Summary{}, err
	}
	if p.in.Survey.Approach.given() {
		files = append(files, waysName)
		if err := p.writeWays(filepath.Join(stage, waysName)); err != nil {
			return Summary{}, err
		}
	}
	for _, l := range layers {
		files = append(files, "layers/"+l)
	}
	if p.in.Survey.Output.Report {
		files = append(files, reliefName, streamsName, reportName)
		if err := p.writeGround(ctx, stage); err != nil {
			return Summary{}, err
		}
	}
	if p.in.Survey.Target != "" {
		files = append(files, profileName)
		if err := p.writeProfile(filepath.Join(stage, profileName)); err != nil {
			return Summary{}, err
		}
	}
	if err := p.writeRecord(filepath.Join(stage, recordName), files); err != nil {
		return Summary{}, err
	}
	if p.in.Survey.Output.Report {
		if err := p.writeReport(ctx, stage); err != nil {
			return Summary{}, err
		}
	}
	if err := ctx.Err(); err != nil {
		return Summary{}, err
	}
	return p.sum, p.claim.Commit(append(files, recordName), p.gone(append(files, recordName)))
}

// writeProfile writes the profile with its target: no file holds it elsewhere,
// and learning and scoring need it.
func (p *publication) writeProfile(path string) error {
	data, err := p.in.Profile.Encode()
	if err != nil {
		return err
	}
	return os.WriteFile(path, data, 0o644)
}

// writeRasters writes the suitability and the layers asked for.
func (p *publication) writeRasters(ctx context.Context, stage string) (layers []string, err error) {
	report := p.o.stage("writing suitability")
	if err := p.suitability(ctx, filepath.Join(stage, "suitability.tif")); err != nil {
		return nil, err
	}
	report(1)
	return p.writeLayers(ctx, filepath.Join(stage, "layers"))
}

// gone lists what an earlier run wrote and this one did not.
func (p *publication) gone(files []string) (gone []string) {
	for _, f := range oldFiles(filepath.Join(p.folder, recordName)) {
		if !slices.Contains(files, f) && (slices.Contains(optionalNames, f) || strings.HasPrefix(f, "layers/")) && filepath.IsLocal(f) {
			gone = append(gone, f)
		}
	}
	return gone
}

func oldFiles(path string) []string {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil
	}
	var r Record
	if json.Unmarshal(data, &r) != nil {
		return nil
	}
	return r.Outputs
}

const (
	recordName  = "run.json"
	waysName    = "ways.geojson"
	previewName = "preview.png"
	profileName = "target-profile.yaml"
)

// optionalNames are results that not every run writes.
var optionalNames = []string{previewName, waysName, reliefName, streamsName, reportName, profileName}

// Record is what run.json holds: enough to repeat the run and to compare it.
// It holds no times and no machine paths, so that the same inputs give the
// same bytes.
type Record struct {
	Format   string            `json:"format"`
	Run      string            `json:"run"`
	Software map[string]string `json:"software"`
	Caution  string            `json:"caution"`
	Cautions []recordCaution   `json:"cautions"`
	Help     recordHelp        `json:"help"`
	Target   recordTarget      `json:"target"`
	Survey   recordSurvey      `json:"survey"`
	Inputs   []InputFile       `json:"inputs"`
	Landed   map[string]string `json:"landed"`
	Frame    recordFrame       `json:"frame"`
	Profile  recordProfile     `json:"profile"`
	Counts   Summary           `json:"counts"`
	Warnings []string          `json:"warnings"`
	Outputs  []string          `json:"outputs"`
}

type recordSurvey struct {
	Name      string        `json:"name"`
	Frame     FrameSpec     `json:"frame"`
	Unit      string        `json:"elevation_unit"`
	Streams   string        `json:"streams"`
	Columns   StreamFields  `json:"stream_columns"`
	Threshold float64       `json:"threshold"`
	Legend    string        `json:"legend"`
	Shortlist ShortlistSpec `json:"shortlist"`
	Layers    []string      `json:"layers"`
	Evidence  EvidenceSpec  `json:"evidence"`
	Inventory InventorySpec `json:"inventory"`
	Access    []AccessSpec  `json:"access"`
	KeepOut   []KeepOutSpec `json:"keep_out"`
	Approach  ApproachSpec  `json:"approach"`
	Choices   recordChoices `json:"choices"`
}

// recordChoices are the options of the layers, as the survey gives them.
type recordChoices struct {
	AreaLayer       string   `json:"area_layer"`
	AreaWhere       string   `json:"area_where"`
	AreaCRS         string   `json:"area_crs"`
	ElevationCRS    string   `json:"elevation_crs"`
	ElevationNodata *float64 `json:"elevation_nodata"`
	StreamsLayer    string   `json:"streams_layer"`
	StreamsWhere    string   `json:"streams_where"`
	StreamsRules    string   `json:"streams_rules"`
	StreamsAreaUnit string   `json:"streams_area_unit"`
	StreamsKm2      float64  `json:"streams_threshold_km2"`
	StreamsCRS      string   `json:"streams_crs"`
	CoverCRS        string   `json:"landcover_crs"`
	CoverNodata     *int64   `json:"landcover_nodata"`
	CoverUnknown    string   `json:"landcover_unknown"`
}

func (s *Survey) choices() recordChoices {
	return recordChoices{
		s.Area.Layer, s.Area.Where, s.Area.CRS, s.Elevation.CRS, s.Elevation.Nodata,
		s.Streams.Layer, s.Streams.Where, s.Streams.Rules, s.Streams.AreaUnit, s.Streams.ThresholdKm2, s.Streams.CRS,
		s.LandCover.CRS, s.LandCover.Nodata, s.LandCover.Unknown,
	}
}

type recordFrame struct {
	CRS    string  `json:"crs"`
	EPSG   int     `json:"epsg,omitempty"`
	Cell   float64 `json:"cell_m"`
	Cols   int     `json:"columns"`
	Rows   int     `json:"rows"`
	West   float64 `json:"west"`
	North  float64 `json:"north"`
	Why    string  `json:"why"`
	Window [4]int  `json:"written_window"`
}

type recordProfile struct {
	Name         string       `json:"name"`
	SHA256       string       `json:"sha256"` // of the profile as it is understood
	Curve        string       `json:"bankfull_curve"`
	Bottomland   Bottomland   `json:"bottomland"`
	Provenance   []string     `json:"provenance"`
	HitRates     []recordRate `json:"hit_rates"`
	Hosts        []recordHost `json:"hosts"`
	ByBottomland Weight       `json:"rate_by_bottomland"`
	Posterior    *Posterior   `json:"posterior,omitempty"`
}

// recordHost is what to know a host by.
type recordHost struct {
	ID         string `json:"id"`
	Common     string `json:"common"`
	Scientific string `json:"scientific"`
	Winter     string `json:"winter,omitempty"`
}

type recordTarget struct {
	Common     string `json:"common"`
	Scientific string `json:"scientific"`
	Months     []int  `json:"months"`
}

type recordHelp struct {
	PoisonLine string `json:"poison_line"`
	Emergency  string `json:"emergency"`
	Where      string `json:"where"`
}

type recordCaution struct {
	Key   string `json:"key"`
	Title string `json:"title"`
	Text  string `json:"text"`
	Short bool   `json:"short"`
}

func recordCautions(p *Profile) (list []recordCaution) {
	for _, c := range Cautions(p) {
		list = append(list, recordCaution(c))
	}
	return list
}

type recordRate struct {
	Host   string  `json:"host"`
	Hits   float64 `json:"hits"`
	Of     float64 `json:"of"`
	Weight float64 `json:"weight"`
}

func (p *publication) writeRecord(path string, files []string) error {
	f, w := p.ground.frame, p.ground.window
	r := Record{
		Format: "rillwood-run-1", Run: p.id, Caution: safetyLine, Cautions: recordCautions(p.in.Profile),
		Help:     recordHelp{p.in.Profile.Help.PoisonLine, p.in.Profile.Help.Emergency, p.in.Profile.Help.Where},
		Target:   recordTarget{p.in.Profile.Target.Common, p.in.Profile.Target.Scientific, p.in.Profile.Target.Months},
		Software: map[string]string{"rillwood": Version, "raster_library": raster.Versions()},
		Survey:   p.recordSurvey(), Inputs: p.files, Landed: p.ground.landed,
		Frame: recordFrame{CRS: f.Name, EPSG: f.EPSG, Cell: f.Cell, Cols: f.W, Rows: f.H, West: f.X0, North: f.Y0, Why: p.in.FrameWhy,
			Window: [4]int{w.X, w.Y, w.W, w.H}},
		Profile: p.recordProfile(), Counts: p.sum, Warnings: p.portable(p.sum.Warnings), Outputs: append(files, recordName),
	}
	data, err := json.MarshalIndent(r, "", "  ")
	if err != nil {
		return fmt.Errorf("run record: %w", err)
	}
	return os.WriteFile(path, append(data, '\n'), 0o644)
}

// portable gives the warnings without the folder of the survey in the paths they
// name, which a copy of the survey elsewhere would not share.
func (p *publication) portable(warnings []string) []string {
	dir := filepath.Dir(p.in.Survey.File)
	out := orEmpty(warnings)
	if p.in.Survey.File == "" || dir == "." {
		return out
	}
	dir = strings.TrimSuffix(dir, string(filepath.Separator)) + string(filepath.Separator)
	for i := range out {
		// Most messages quote a path.
		for _, d := range []string{dir, strings.Trim(strconv.Quote(dir), `"`)} {
			out[i] = strings.ReplaceAll(out[i], `"`+d, `"`)
		}
	}
	return out
}

func (p *publication) recordSurvey() recordSurvey {
	s := p.in.Survey
	r := recordSurvey{Name: s.Name, Frame: s.Frame, Unit: p.in.UnitFrom, Streams: p.ground.network.Rule, Columns: p.ground.network.Fields,
		Threshold: p.short.Threshold, Legend: "none", Shortlist: s.Shortlist, Layers: p.layers, Choices: s.choices(),
		Evidence: s.Evidence, Inventory: s.Inventory, Access: orEmpty(s.Access), KeepOut: orEmpty(s.KeepOut), Approach: s.Approach}
	r.Evidence, r.Inventory.Rasters = r.Evidence.moved(), orEmpty(r.Inventory.Rasters)
	if p.in.Cover != nil {
		r.Legend = p.in.Cover.Legend.Name
	}
	return r
}

func (p *publication) recordProfile() recordProfile {
	data, err := p.in.Profile.Encode()
	if err != nil {
		panic(err) // it was read from YAML
	}
	sum := sha256.Sum256(data)
	return recordProfile{HitRates: recordRates(p.in.Profile), Hosts: recordHosts(p.in.Profile), ByBottomland: p.in.Profile.RateByBottomland, Posterior: p.in.Profile.Posterior, Name: p.in.Profile.Name, SHA256: hex.EncodeToString(sum[:]), Curve: p.in.Curve.Name,
		Bottomland: p.in.Profile.Bottomland, Provenance: p.in.Profile.Provenance}
}

func recordHosts(p *Profile) (hosts []recordHost) {
	for _, h := range p.Hosts {
		hosts = append(hosts, recordHost{h.ID, h.Common, h.Scientific, h.Winter})
	}
	return hosts
}

func recordRates(p *Profile) (rates []recordRate) {
	for _, h := range p.Hosts {
		rates = append(rates, recordRate{h.ID, h.HitRate.Hits, h.HitRate.Of, h.HitRate.Weight})
	}
	return rates
}

// runID tells runs with other inputs or settings apart.
func (p *publication) runID() string {
	h := sha256.New()
	err := json.NewEncoder(h).Encode(struct {
		Version string
		Inputs  []InputFile
		Survey  recordSurvey
		Profile recordProfile
	}{Version, digestsOnly(p.files), p.recordSurvey(), p.recordProfile()})
	if err != nil {
		panic(err) // plain numbers and texts
	}
	return hex.EncodeToString(h.Sum(nil))[:12]
}

// digestsOnly leaves the paths out: a survey moved elsewhere is the same run.
func digestsOnly(files []InputFile) []InputFile {
	out := make([]InputFile, len(files))
	for i, f := range files {
		out[i] = InputFile{Role: f.Role, Bytes: f.Bytes, SHA256: f.SHA256}
	}
	return out
}
