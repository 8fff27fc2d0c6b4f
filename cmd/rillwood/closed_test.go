//go:build linux

package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
	"time"
)

// A layer from a stranger reaches nothing: whatever it names, no socket is
// opened, and no file outside its folder is touched. The kernel's own
// account (strace) is the judge. Each file is offered in one of its roles, in
// all with -corpus.
func TestLayersReachNothing(t *testing.T) {
	tracer, err := exec.LookPath("strace")
	if err != nil {
		t.Skip("strace is not installed: no one to ask")
	}
	if out, err := exec.Command(tracer, "-f", "-qq", "-e", "trace=network", "true").CombinedOutput(); err != nil {
		t.Skipf("strace may not trace here: %s", out)
	}
	root := t.TempDir()
	work, outside := filepath.Join(root, "work"), filepath.Join(root, "outside")
	made, err := layers()
	if err != nil {
		t.Fatal(err)
	}
	for _, dir := range []string{work, outside} {
		if err := os.Mkdir(dir, 0o755); err != nil {
			t.Fatal(err)
		}
		for name, data := range made {
			if dir == outside {
				name = "secret-" + name
			}
			if err := os.WriteFile(filepath.Join(dir, name), data, 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
	hostile := hostileLayers(t, work, outside)
	exe, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	for i, h := range hostile {
		var roles []int
		for k, r := range corpusRoles {
			if h.roles == "" || strings.Contains(h.roles, r.name) {
				roles = append(roles, k)
			}
		}
		for n, k := range roles {
			if !*wholeCorpus && n != i%len(roles) {
				continue
			}
			r := corpusRoles[k]
			t.Run(h.name+"/"+r.name, func(t *testing.T) {
				folder := filepath.Join(work, "out")
				args := []string{"record", "add", "--skip-bad", folder, h.file}
				if r.survey != "" {
					survey := filepath.Join(work, fmt.Sprintf("s%d.yaml", i))
					text := fmt.Sprintf(r.survey, fmt.Sprintf("%q", h.file)) + "output: {folder: out, layers: none, preview: false, report: false}\nrun: {cache: none}\n"
					if err := os.WriteFile(survey, []byte(text), 0o644); err != nil {
						t.Fatal(err)
					}
					args = []string{"map", "-q", survey}
				}
				log := filepath.Join(root, "log")
				ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
				defer cancel()
				cmd := exec.CommandContext(ctx, tracer, append([]string{"-f", "-qq", "-o", log, "-e", "trace=%network,open,openat,openat2,creat,execve", exe}, args...)...)
				cmd.Dir, cmd.Env = work, append(os.Environ(), actAsProgram+"=1")
				var stderr bytes.Buffer
				cmd.Stderr = &stderr
				err := cmd.Run()
				if ctx.Err() != nil {
					t.Fatal("no end within a minute")
				}
				if err != nil && !failLine.MatchString(lastLine(stderr.String())) {
					t.Errorf("no line of ours: %s", stderr.String())
				}
				if h.refused && err == nil {
					t.Error("it was taken")
				}
				told, err := os.ReadFile(log)
				if err != nil {
					t.Fatal(err)
				}
				for line := range strings.Lines(string(told)) {
					if breach(line, outside) {
						t.Errorf("%s", line)
					}
				}
				os.RemoveAll(folder)
			})
		}
	}
}

var (
	netCall  = regexp.MustCompile(`\bsocket\(AF_(INET6?|NETLINK|PACKET)|\b(connect|sendto|bind)\(\d+, \{sa_family=AF_(INET6?|NETLINK|PACKET)`)
	execCall = regexp.MustCompile(`\bexecve\("`)
	openCall = regexp.MustCompile(`\b(?:open|openat|openat2|creat)\([^"]*"([^"]*)"`)
)

// breach tells whether a line of the kernel's account is a way out: the
// network, another program, or a file that a layer named.
func breach(line, outside string) bool {
	if netCall.MatchString(line) {
		return true
	}
	if execCall.MatchString(line) && !strings.Contains(line, ".test\"") {
		return true
	}
	if m := openCall.FindStringSubmatch(line); m != nil {
		return strings.Contains(m[1], outside) || strings.Contains(m[1], "secret-") || m[1] == "/etc/passwd" || m[1] == "/etc/hostname"
	}
	return false
}

// The judge sees what it should.
func TestBreachIsSeen(t *testing.T) {
	for line, want := range map[string]bool{
		`12 socket(AF_INET, SOCK_STREAM|SOCK_CLOEXEC, IPPROTO_TCP) = 5`:               true,
		`12 openat(AT_FDCWD, "/t/outside/secret-elevation.tif", O_RDONLY) = 5`:        true,
		`12 openat(AT_FDCWD, "../outside/secret-elevation.tif", O_RDONLY) = 5`:        true,
		`12 openat(AT_FDCWD, "/etc/passwd", O_RDONLY) = 5`:                            true,
		`12 execve("/bin/sh", ["sh"], 0x0) = 0`:                                       true,
		`12 execve("/tmp/x/rillwood.test", ["rillwood.test"], 0x0) = 0`:               false,
		`12 openat(AT_FDCWD, "/usr/share/proj/proj.db", O_RDONLY|O_CLOEXEC) = 5`:      false,
		`12 openat(AT_FDCWD, "/t/work/elevation.tif", O_RDONLY|O_CLOEXEC) = 5`:        false,
		`12 socketpair(AF_UNIX, SOCK_STREAM, 0, [3, 4]) = 0`:                          false,
		`12 connect(5, {sa_family=AF_INET, sin_port=htons(80)}, 16) = -1 EINVAL`:      true,
		`12 openat(AT_FDCWD, "/t/outside", O_RDONLY|O_DIRECTORY|O_CLOEXEC) = 5`:       true,
		`12 openat(AT_FDCWD, "/etc/ld.so.cache", O_RDONLY|O_CLOEXEC) = 3`:             false,
		`12 openat(AT_FDCWD, "/t/work/hostname.txt", O_RDONLY|O_CLOEXEC) = -1 ENOENT`: false,
	} {
		if got := breach(line, "/t/outside"); got != want {
			t.Errorf("%s: got %v", line, got)
		}
	}
}

// hostileLayer is a file that tries to lead elsewhere.
type hostileLayer struct {
	name, file string
	roles      string // the roles it is offered in, "" = all
	refused    bool   // in every one of these
}

func hostileLayers(t *testing.T, work, outside string) (list []hostileLayer) {
	t.Helper()
	write := func(name, text string) string {
		t.Helper()
		if err := os.WriteFile(filepath.Join(work, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return name
	}
	vrt := func(source string) string {
		return `<VRTDataset rasterXSize="150" rasterYSize="120"><GeoTransform>500000,10,0,4500000,0,-10</GeoTransform><SRS>EPSG:32618</SRS>` +
			`<VRTRasterBand dataType="Float32" band="1"><SimpleSource><SourceFilename relativeToVRT="0">` + source + `</SourceFilename><SourceBand>1</SourceBand></SimpleSource></VRTRasterBand></VRTDataset>`
	}
	add := func(name, file, roles string, refused bool) {
		list = append(list, hostileLayer{name, file, roles, refused})
	}
	const rasters = "elevation landcover basal area evidence"
	for name, source := range map[string]string{
		"address": "http://127.0.0.1:9/x.tif", "curl": "/vsicurl/http://127.0.0.1:9/x.tif", "aside": filepath.Join(outside, "secret-elevation.tif"),
		"above": "../outside/secret-elevation.tif", "password": "/etc/passwd",
	} {
		add("VRT, "+name, write("vrt-"+name+".vrt", vrt(source)), rasters, true)
		add("VRT called TIFF, "+name, write("vrt-"+name+".tif", vrt(source)), rasters, true)
	}
	add("VRT, function in Python", write("py.vrt", `<VRTDataset rasterXSize="9" rasterYSize="9"><VRTRasterBand dataType="Byte" band="1" subClass="VRTDerivedRasterBand"><PixelFunctionLanguage>Python</PixelFunctionLanguage><PixelFunctionType>f</PixelFunctionType><PixelFunctionCode><![CDATA[
import os
os.system("true")
]]></PixelFunctionCode></VRTRasterBand></VRTDataset>`), rasters, true)
	add("map service called TIFF", write("wms.tif", `<GDAL_WMS><Service name="TMS"><ServerUrl>http://127.0.0.1:9/${z}/${x}/${y}.png</ServerUrl></Service><DataWindow><UpperLeftX>-180</UpperLeftX><UpperLeftY>90</UpperLeftY><LowerRightX>180</LowerRightX><LowerRightY>-90</LowerRightY><SizeX>9</SizeX><SizeY>9</SizeY></DataWindow></GDAL_WMS>`), rasters, true)
	add("vector VRT called JSON", write("ogr.json", `<OGRVRTDataSource><OGRVRTLayer name="x"><SrcDataSource>`+outside+`/secret-streams.gpkg</SrcDataSource></OGRVRTLayer></OGRVRTDataSource>`), "streams area access keep out paths soils", true)
	add("GeoJSON with a linked CRS", write("link.geojson", `{"type":"FeatureCollection","crs":{"type":"link","properties":{"href":"http://127.0.0.1:9/crs.wkt","type":"ogcwkt"}},"features":[]}`), "streams area access paths", true)
	add("GeoJSON with a CRS that is a file", write("file.geojson", `{"type":"FeatureCollection","crs":{"type":"name","properties":{"name":"`+outside+`/secret-streams.gpkg"}},"features":[]}`), "streams area", false)
	add("GML called GeoJSON", write("gml.geojson", `<?xml version="1.0"?><!DOCTYPE x [<!ENTITY e SYSTEM "file:///etc/passwd">]><gml:FeatureCollection xmlns:gml="http://www.opengis.net/gml" xmlns:xlink="http://www.w3.org/1999/xlink" xlink:href="http://127.0.0.1:9/">&e;</gml:FeatureCollection>`), "streams area", true)
	add("GPX with an outside entity", write("entity.gpx", `<?xml version="1.0"?><!DOCTYPE gpx [<!ENTITY e SYSTEM "file:///etc/passwd">]><gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1"><wpt lat="41" lon="-75"><time>2026-01-02T10:00:00Z</time><name>&e;</name><desc>elm dead 12/1</desc></wpt></gpx>`), "records", true)
	for _, path := range []string{"/vsicurl/http://127.0.0.1:9/x.tif", "http://127.0.0.1:9/x.tif", "/vsizip/" + filepath.Join(outside, "x.zip"), "WMS:http://127.0.0.1:9/", "PG:host=127.0.0.1", "/vsistdin/"} {
		add("path "+strings.ReplaceAll(path, "/", "|"), path, "elevation streams landcover area access", true)
	}
	pipe := filepath.Join(work, "pipe.tif")
	if err := syscall.Mkfifo(pipe, 0o644); err != nil {
		t.Fatal(err)
	}
	add("a pipe", "pipe.tif", "elevation landcover", true)
	pipe = filepath.Join(work, "pipe.gpkg")
	if err := syscall.Mkfifo(pipe, 0o644); err != nil {
		t.Fatal(err)
	}
	add("a vector pipe", "pipe.gpkg", "streams area", true)
	pipe = filepath.Join(work, "pipe.csv")
	if err := syscall.Mkfifo(pipe, 0o644); err != nil {
		t.Fatal(err)
	}
	add("a pipe of records", "pipe.csv", "records", true)
	add("a device", "/dev/zero", "", true)
	return append(list, hostileGeoPackages(t, work, outside)...)
}

// hostileGeoPackages are made by SQLite itself.
func hostileGeoPackages(t *testing.T, work, outside string) (list []hostileLayer) {
	t.Helper()
	python, err := exec.LookPath("python3")
	if err != nil {
		t.Log("no python3: GeoPackages are left out")
		return nil
	}
	const script = `
import sqlite3, sys, shutil
work, outside = sys.argv[1:]
def make(name, *statements):
    shutil.copy(work + "/streams.gpkg", work + "/" + name)
    c = sqlite3.connect(work + "/" + name, isolation_level=None)
    c.execute("PRAGMA trusted_schema=ON"); c.execute("PRAGMA writable_schema=ON")
    table, geom = c.execute("SELECT table_name, column_name FROM gpkg_geometry_columns").fetchone()
    for s in statements:
        c.execute(s.replace("{t}", table).replace("{g}", geom).replace("{o}", outside))
    c.close()
def view(body):
    return ["CREATE VIEW v AS " + body,
        "INSERT INTO gpkg_contents(table_name,data_type,identifier,srs_id) SELECT 'v','features','v',srs_id FROM gpkg_contents WHERE table_name='{t}'",
        "INSERT INTO gpkg_geometry_columns SELECT 'v',column_name,geometry_type_name,srs_id,z,m FROM gpkg_geometry_columns WHERE table_name='{t}'",
        "DELETE FROM gpkg_geometry_columns WHERE table_name='{t}'", "DELETE FROM gpkg_contents WHERE table_name='{t}'"]
make("view-load.gpkg", *view('SELECT *, load_extension("{o}/secret-evil.so") AS x FROM "{t}"'))
make("view-file.gpkg", *view('SELECT *, readfile("{o}/secret-streams.gpkg") AS x FROM "{t}"'))
make("view-geo.gpkg", *view('SELECT *, ogr_geocode("x") AS x FROM "{t}"'))
make("view-gdal.gpkg", *view('SELECT *, gdal_get_pixel_value("{o}/secret-elevation.tif",1,"pixel",0,0) AS x FROM "{t}"'))
make("trigger.gpkg", 'CREATE TRIGGER tr AFTER UPDATE ON gpkg_contents BEGIN SELECT load_extension("{o}/secret-evil.so"); END')
def master(sql):
    return "INSERT INTO sqlite_master(type,name,tbl_name,rootpage,sql) VALUES('table','far','far',0,'" + sql.replace("'", "''") + "')"
make("virtual-shape.gpkg", master("CREATE VIRTUAL TABLE far USING VirtualShape('{o}/secret-streams', 'UTF-8', 4326)"))
make("virtual-ogr.gpkg", master("CREATE VIRTUAL TABLE far USING VirtualOGR('{o}/secret-streams.gpkg')"))
make("virtual-view.gpkg", master("CREATE VIRTUAL TABLE far USING VirtualOGR('{o}/secret-streams.gpkg')"), *view('SELECT * FROM "{t}" WHERE (SELECT count(*) FROM far) >= 0'))
`
	if out, err := exec.Command(python, "-c", script, work, outside).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	found, err := filepath.Glob(filepath.Join(work, "v*-*.gpkg"))
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range append(found, filepath.Join(work, "trigger.gpkg")) {
		list = append(list, hostileLayer{"GeoPackage " + strings.TrimSuffix(filepath.Base(path), ".gpkg"), filepath.Base(path), "streams area soils", false})
	}
	return list
}
