#include "ogr.h"

#include <limits.h>
#include <stdlib.h>
#include <string.h>

#include "cpl_conv.h"
#include "cpl_error.h"
#include "cpl_string.h"

// The drivers' own entry points. They are exported by libgdal but declared
// only in a C++ header.
void RegisterOGRShape(void);
void RegisterOGRGeoPackage(void);
void RegisterOGRGeoJSON(void);
void RegisterOGRFlatGeobuf(void);
void RegisterOGROpenFileGDB(void);

static void CPL_STDCALL collect(CPLErr class, CPLErrorNum number, const char *text) {
    rw_log *log = CPLGetErrorHandlerUserData();
    (void)number;
    if (log == NULL || text == NULL) return;
    if (class >= CE_Failure) {
        if (log->errors++ == 0) CPLStrlcpy(log->error, text, sizeof log->error);
    } else if (class == CE_Warning) {
        if (strncmp(log->last, text, sizeof log->last - 1) == 0) return;
        CPLStrlcpy(log->last, text, sizeof log->last);
        log->warnings++;
        size_t n = strlen(log->warning);
        if (n + strlen(text) + 2 < sizeof log->warning) {
            if (n > 0) log->warning[n++] = '\n';
            CPLStrlcpy(log->warning + n, text, sizeof log->warning - n);
        }
    }
}

static void push(rw_log *log) { CPLPushErrorHandlerEx(collect, log); }

static void pop(void) { CPLPopErrorHandler(); }

void rw_setup(const char *date) {
    RegisterOGRShape();
    RegisterOGRGeoPackage();
    RegisterOGRGeoJSON();
    RegisterOGRFlatGeobuf();
    RegisterOGROpenFileGDB();
    OSRSetPROJEnableNetwork(0);
    // A GeoPackage carries the time of its last change; a fixed one makes the
    // bytes depend on the content alone.
    CPLSetConfigOption("OGR_CURRENT_DATE", date);
}

void rw_free(void *p) { CPLFree(p); }

void rw_buf_free(rw_buf *b) {
    free(b->data);
    b->data = NULL;
    b->len = b->cap = 0;
}

// room makes place for n more bytes; 0 when memory ran out.
static int room(rw_buf *b, size_t n) {
    if (n > SIZE_MAX / 4 || b->len > SIZE_MAX / 4) return 0;
    if (b->len + n <= b->cap) return 1;
    size_t cap = b->cap ? b->cap : 1 << 16;
    while (cap < b->len + n) cap *= 2;
    unsigned char *data = realloc(b->data, cap);
    if (data == NULL) return 0;
    b->data = data;
    b->cap = cap;
    return 1;
}

static int put(rw_buf *b, const void *p, size_t n) {
    if (!room(b, n)) return 0;
    if (n > 0) memcpy(b->data + b->len, p, n);
    b->len += n;
    return 1;
}

GDALDatasetH rw_open(const char *path, const char *driver, int immutable, rw_log *log) {
    const char *drivers[] = {driver, NULL};
    const char *options[] = {immutable ? "IMMUTABLE=YES" : NULL, NULL};
    push(log);
    GDALDatasetH ds = GDALOpenEx(path, GDAL_OF_VECTOR | GDAL_OF_READONLY | GDAL_OF_VERBOSE_ERROR, drivers, options, NULL);
    pop();
    return ds;
}

void rw_close(GDALDatasetH ds, rw_log *log) {
    push(log);
    GDALClose(ds);
    pop();
}

// rw_layer gives the i-th layer with its definition loaded, which some drivers
// put off, and its kind of geometry.
OGRLayerH rw_layer(GDALDatasetH ds, int i, int *geometry, rw_log *log) {
    push(log);
    OGRLayerH layer = GDALDatasetGetLayer(ds, i);
    if (layer != NULL) {
        OGR_L_GetLayerDefn(layer);
        *geometry = (int)OGR_L_GetGeomType(layer);
    }
    pop();
    return layer;
}

// rw_own_sql tells what of a GeoPackage's layer comes from SQL in the file: 2
// when it is a view, 1 when it is a table with generated columns, else 0. name
// is the layer's, its single quotes doubled.
int rw_own_sql(GDALDatasetH ds, const char *name, rw_log *log) {
    int found = 0;
    push(log);
    const char *sql = CPLSPrintf(
        "SELECT CASE WHEN EXISTS (SELECT 1 FROM sqlite_master WHERE type = 'view' AND lower(name) = lower('%s')) THEN 2 "
        "ELSE (SELECT count(*) > 0 FROM pragma_table_xinfo('%s') WHERE hidden > 1) END",
        name, name);
    OGRLayerH answer = GDALDatasetExecuteSQL(ds, sql, NULL, NULL);
    OGRFeatureH row = answer != NULL ? OGR_L_GetNextFeature(answer) : NULL;
    if (row != NULL) {
        found = OGR_F_GetFieldAsInteger(row, 0);
        OGR_F_Destroy(row);
    }
    if (answer != NULL) GDALDatasetReleaseResultSet(ds, answer);
    pop();
    return found;
}

int64_t rw_count(OGRLayerH layer, rw_log *log) {
    push(log);
    int64_t n = OGR_L_GetFeatureCount(layer, TRUE);
    pop();
    return n;
}

int rw_extent(OGRLayerH layer, double *wsen) {
    OGREnvelope e;
    memset(&e, 0, sizeof e);
    // An empty layer has no extent; that is not an error.
    CPLPushErrorHandler(CPLQuietErrorHandler);
    int ok = OGR_L_GetExtent(layer, &e, TRUE) == OGRERR_NONE;
    CPLPopErrorHandler();
    wsen[0] = e.MinX, wsen[1] = e.MinY, wsen[2] = e.MaxX, wsen[3] = e.MaxY;
    return ok;
}

// known_epsg gives the EPSG code a CRS declares, or that of the one registered
// CRS it matches with at least 90 % confidence, else 0.
static int known_epsg(OGRSpatialReferenceH srs) {
    const char *authority = OSRGetAuthorityName(srs, NULL), *code = OSRGetAuthorityCode(srs, NULL);
    if (authority != NULL && code != NULL && EQUAL(authority, "EPSG")) return atoi(code);
    int n = 0, *confidence = NULL, found = 0;
    OGRSpatialReferenceH *matches = OSRFindMatches(srs, NULL, &n, &confidence);
    if (matches != NULL && n > 0 && confidence[0] >= 90 && (n == 1 || confidence[1] < confidence[0])) {
        authority = OSRGetAuthorityName(matches[0], NULL);
        code = OSRGetAuthorityCode(matches[0], NULL);
        if (authority != NULL && code != NULL && EQUAL(authority, "EPSG")) found = atoi(code);
    }
    if (matches != NULL) OSRFreeSRSArray(matches);
    CPLFree(confidence);
    return found;
}

// describe fills out from srs, flattened to its horizontal part, and releases srs.
static int describe(OGRSpatialReferenceH srs, rw_crs *out) {
    OSRStripVertical(srs);
    char *wkt = NULL;
    if (OSRExportToWkt(srs, &wkt) != OGRERR_NONE || wkt == NULL) {
        CPLFree(wkt);
        OSRDestroySpatialReference(srs);
        return 0;
    }
    const char *name = OSRGetName(srs);
    out->wkt = wkt;
    out->name = CPLStrdup(name != NULL ? name : "");
    out->epsg = OSRIsLocal(srs) ? 0 : known_epsg(srs);
    OSRDestroySpatialReference(srs);
    return 1;
}

int rw_layer_crs(OGRLayerH layer, rw_crs *out, rw_log *log) {
    memset(out, 0, sizeof *out);
    push(log);
    OGRSpatialReferenceH own = OGR_L_GetSpatialRef(layer);
    int ok = 0;
    if (own != NULL) {
        OGRSpatialReferenceH srs = OSRClone(own);
        ok = srs != NULL && describe(srs, out);
    }
    pop();
    return ok;
}

// rw_area_of_use gives where a registered CRS is meant for, in degrees; west is
// larger than east when it goes over the antimeridian.
int rw_area_of_use(int epsg, double *wsen) {
    CPLPushErrorHandler(CPLQuietErrorHandler);
    OGRSpatialReferenceH srs = OSRNewSpatialReference(NULL);
    int ok = OSRImportFromEPSG(srs, epsg) == OGRERR_NONE && OSRGetAreaOfUse(srs, wsen, wsen + 1, wsen + 2, wsen + 3, NULL);
    OSRDestroySpatialReference(srs);
    CPLPopErrorHandler();
    // Unknown limits are written as −1000.
    for (int i = 0; i < 4; i++) ok = ok && wsen[i] >= -360 && wsen[i] <= 360;
    return ok;
}

int rw_where(OGRLayerH layer, const char *where, rw_log *log) {
    push(log);
    int ok = OGR_L_SetAttributeFilter(layer, where) == OGRERR_NONE;
    pop();
    return ok;
}

void rw_box(OGRLayerH layer, const double *wsen, rw_log *log) {
    push(log);
    OGR_L_SetSpatialFilterRect(layer, wsen[0], wsen[1], wsen[2], wsen[3]);
    pop();
}

void rw_rewind(OGRLayerH layer, rw_log *log) {
    push(log);
    OGR_L_ResetReading(layer);
    pop();
}

// plain gives g as straight-edged 2D geometry of the simple-features kinds,
// taking ownership; NULL when that cannot be done.
static OGRGeometryH plain(OGRGeometryH g) {
    if (OGR_G_HasCurveGeometry(g, TRUE)) {
        OGRGeometryH line = OGR_G_GetLinearGeometry(g, 0, NULL);
        OGR_G_DestroyGeometry(g);
        if (line == NULL) return NULL;
        g = line;
    }
    OGR_G_FlattenTo2D(g);
    OGRwkbGeometryType type = wkbFlatten(OGR_G_GetGeometryType(g));
    if (type == wkbPolyhedralSurface || type == wkbTIN || type == wkbTriangle) g = OGR_G_ForceTo(g, wkbMultiPolygon, NULL);
    return g;
}

// The largest geometry taken, bytes of WKB: 16 for each point.
enum { RW_LARGEST = 128 << 20 };

static int put_geometry(rw_buf *out, OGRGeometryH g, rw_log *log) {
    uint32_t none = UINT32_MAX;
    if (g == NULL) return put(out, &none, sizeof none);
    g = plain(g);
    if (g == NULL) return put(out, &none, sizeof none);
    size_t n = OGR_G_WkbSizeEx(g);
    uint32_t size = (uint32_t)n;
    int ok = n < RW_LARGEST && room(out, n + sizeof size) && put(out, &size, sizeof size);
    if (ok) {
        ok = OGR_G_ExportToIsoWkb(g, wkbNDR, out->data + out->len) == OGRERR_NONE;
        out->len += n;
    }
    if (!ok && log->errors++ == 0) CPLStrlcpy(log->error, "a shape of more than 8 million points, or of an unknown kind", sizeof log->error);
    OGR_G_DestroyGeometry(g);
    return ok;
}

static int put_value(rw_buf *out, OGRFeatureH f, int i) {
    uint8_t kind = RW_NULL;
    if (i < 0 || !OGR_F_IsFieldSetAndNotNull(f, i)) return put(out, &kind, 1);
    switch (OGR_Fld_GetType(OGR_F_GetFieldDefnRef(f, i))) {
    case OFTInteger:
    case OFTInteger64: {
        int64_t v = OGR_F_GetFieldAsInteger64(f, i);
        kind = RW_INT;
        return put(out, &kind, 1) && put(out, &v, sizeof v);
    }
    case OFTReal: {
        double v = OGR_F_GetFieldAsDouble(f, i);
        kind = RW_REAL;
        return put(out, &kind, 1) && put(out, &v, sizeof v);
    }
    default: {
        const char *s = OGR_F_GetFieldAsString(f, i);
        size_t n = strlen(s);
        uint32_t size = (uint32_t)n;
        kind = RW_TEXT;
        return n < INT_MAX && put(out, &kind, 1) && put(out, &size, sizeof size) && put(out, s, n);
    }
    }
}

// rw_next reads up to max features into out (replacing what it held). Each is:
// int64 FID; uint32 length of WKB or 0xffffffff for none; the WKB (ISO, little
// endian, 2D); then for each wanted field one byte of kind and int64, double,
// or uint32 length and bytes; numbers in the machine's own order. It returns
// how many were read, or -1 with the reason in log. *end is set once the layer
// has no more.
int rw_next(OGRLayerH layer, const int *fields, int nfields, int max, rw_buf *out, int *end, rw_log *log) {
    int n = 0, ok = 1;
    out->len = 0;
    *end = 0;
    push(log);
    // Past 8 MB the batch is handed over early, so that memory follows the batch.
    while (ok && n < max && out->len < (8 << 20)) {
        OGRFeatureH f = OGR_L_GetNextFeature(layer);
        if (f == NULL) {
            *end = 1;
            break;
        }
        int64_t fid = OGR_F_GetFID(f);
        ok = put(out, &fid, sizeof fid) && put_geometry(out, OGR_F_StealGeometry(f), log);
        for (int i = 0; ok && i < nfields; i++) ok = put_value(out, f, fields[i]);
        OGR_F_Destroy(f);
        n++;
    }
    pop();
    if (!ok && log->errors++ == 0) CPLStrlcpy(log->error, "out of memory", sizeof log->error);
    return log->errors > 0 ? -1 : n;
}

static OGRSpatialReferenceH srs_from_wkt(const char *wkt) {
    OGRSpatialReferenceH srs = OSRNewSpatialReference(NULL);
    char *text = (char *)wkt;  // advanced, not written to, by the import
    if (srs == NULL) return NULL;
    if (OSRImportFromWkt(srs, &text) != OGRERR_NONE) {
        OSRDestroySpatialReference(srs);
        return NULL;
    }
    return srs;
}

OGRCoordinateTransformationH rw_transform_new(const char *from, const char *to, rw_log *log) {
    OGRCoordinateTransformationH ct = NULL;
    push(log);
    OGRSpatialReferenceH a = srs_from_wkt(from), b = srs_from_wkt(to);
    if (a != NULL && b != NULL) {
        OSRStripVertical(a);
        OSRStripVertical(b);
        OSRSetAxisMappingStrategy(a, OAMS_TRADITIONAL_GIS_ORDER);
        OSRSetAxisMappingStrategy(b, OAMS_TRADITIONAL_GIS_ORDER);
        ct = OCTNewCoordinateTransformation(a, b);
    }
    if (a != NULL) OSRDestroySpatialReference(a);
    if (b != NULL) OSRDestroySpatialReference(b);
    pop();
    return ct;
}

// rw_transform moves n points, x and y in turn, in place. It returns -1 when
// all went well, else the index of the first that failed.
int rw_transform(OGRCoordinateTransformationH ct, double *xy, int n, rw_log *log) {
    enum { CHUNK = 4096 };
    double x[CHUNK], y[CHUNK];
    int good[CHUNK], failed = -1;
    push(log);
    for (int first = 0; first < n && failed < 0; first += CHUNK) {
        int m = n - first < CHUNK ? n - first : CHUNK;
        double *p = xy + 2 * (size_t)first;
        for (int i = 0; i < m; i++) x[i] = p[2 * i], y[i] = p[2 * i + 1], good[i] = 0;
        OCTTransformEx(ct, m, x, y, NULL, good);
        for (int i = 0; i < m; i++) {
            if (!good[i] || x[i] - x[i] != 0 || y[i] - y[i] != 0) {
                failed = first + i;
                break;
            }
            p[2 * i] = x[i], p[2 * i + 1] = y[i];
        }
    }
    pop();
    return failed;
}

GDALDatasetH rw_create(const char *path, rw_log *log) {
    push(log);
    GDALDriverH driver = GDALGetDriverByName("GPKG");
    GDALDatasetH ds = driver == NULL ? NULL : GDALCreate(driver, path, 0, 0, 0, GDT_Unknown, NULL);
    pop();
    return ds;
}

OGRLayerH rw_create_layer(GDALDatasetH ds, const char *name, const char *wkt, int geometry, rw_log *log) {
    OGRLayerH layer = NULL;
    push(log);
    OGRSpatialReferenceH srs = geometry == wkbNone ? NULL : srs_from_wkt(wkt);
    if (srs != NULL || geometry == wkbNone) {
        if (srs != NULL) OSRSetAxisMappingStrategy(srs, OAMS_TRADITIONAL_GIS_ORDER);
        layer = GDALDatasetCreateLayer(ds, name, srs, (OGRwkbGeometryType)geometry, NULL);
    }
    if (srs != NULL) OSRDestroySpatialReference(srs);
    pop();
    return layer;
}

int rw_create_field(OGRLayerH layer, const char *name, int type, rw_log *log) {
    OGRFieldDefnH field = OGR_Fld_Create(name, (OGRFieldType)type);
    push(log);
    int ok = OGR_L_CreateField(layer, field, FALSE) == OGRERR_NONE;
    pop();
    OGR_Fld_Destroy(field);
    return ok;
}

int rw_begin(GDALDatasetH ds, rw_log *log) {
    push(log);
    int ok = GDALDatasetStartTransaction(ds, FALSE) == OGRERR_NONE;
    pop();
    return ok;
}

// rw_put adds one feature: values holds, for each of the nfields fields, what
// rw_next writes, with texts NUL-terminated (the NUL counted in the length).
int rw_put(OGRLayerH layer, const unsigned char *wkb, size_t nwkb, const unsigned char *values, int nfields, rw_log *log) {
    push(log);
    OGRFeatureH f = OGR_F_Create(OGR_L_GetLayerDefn(layer));
    int ok = f != NULL;
    if (ok && nwkb > 0) {
        OGRGeometryH g = NULL;
        ok = nwkb < INT_MAX && OGR_G_CreateFromWkb(wkb, NULL, &g, (int)nwkb) == OGRERR_NONE && g != NULL;
        if (ok) ok = OGR_F_SetGeometryDirectly(f, g) == OGRERR_NONE;
    }
    for (int i = 0; ok && i < nfields; i++) {
        uint8_t kind = *values++;
        if (kind == RW_INT) {
            int64_t v;
            memcpy(&v, values, sizeof v);
            values += sizeof v;
            OGR_F_SetFieldInteger64(f, i, v);
        } else if (kind == RW_REAL) {
            double v;
            memcpy(&v, values, sizeof v);
            values += sizeof v;
            OGR_F_SetFieldDouble(f, i, v);
        } else if (kind == RW_TEXT) {
            uint32_t n;
            memcpy(&n, values, sizeof n);
            values += sizeof n;
            OGR_F_SetFieldString(f, i, (const char *)values);
            values += n;
        } else {
            OGR_F_SetFieldNull(f, i);
        }
    }
    if (ok) ok = OGR_L_CreateFeature(layer, f) == OGRERR_NONE;
    if (f != NULL) OGR_F_Destroy(f);
    pop();
    return ok;
}

int rw_commit(GDALDatasetH ds, rw_log *log) {
    push(log);
    int ok = GDALDatasetCommitTransaction(ds) == OGRERR_NONE;
    pop();
    return ok;
}
