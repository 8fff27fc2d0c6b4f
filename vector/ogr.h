// The narrow window onto OGR and OSR that ogr.go uses. Every call that may
// raise a GDAL error takes an rw_log and collects the messages of that call
// only: the handler is pushed and popped inside one C call, so it does not
// matter on which thread Go makes the next one.
#ifndef RILLWOOD_VECTOR_OGR_H
#define RILLWOOD_VECTOR_OGR_H

#include <stddef.h>
#include <stdint.h>

#include "gdal.h"
#include "ogr_api.h"
#include "ogr_srs_api.h"

typedef struct {
    int errors;          // CE_Failure and worse
    int warnings;        // CE_Warning, after dropping a repeat of the one before
    char error[1024];    // the first error's text
    char warning[4096];  // warnings, one a line, as many as fit
    char last[512];      // the last warning, to recognise repeats
} rw_log;

typedef struct {
    unsigned char *data;
    size_t len, cap;
} rw_buf;

typedef struct {
    char *wkt;     // release with rw_free
    char *name;    // release with rw_free
    int epsg;      // 0 when none is known
} rw_crs;

// A value kind in the byte streams of rw_next and rw_put.
enum { RW_NULL = 0, RW_INT = 1, RW_REAL = 2, RW_TEXT = 3 };

// What rw_mend says of polygons.
enum { RW_VALID = 0, RW_MENDED = 1, RW_LOST = 2, RW_NOT_JUDGED = 3 };

void rw_setup(const char *date);
void rw_free(void *p);
void rw_buf_free(rw_buf *b);

GDALDatasetH rw_open(const char *path, const char *driver, int immutable, rw_log *log);
void rw_close(GDALDatasetH ds, rw_log *log);
OGRLayerH rw_layer(GDALDatasetH ds, int i, int *geometry, rw_log *log);
int rw_own_sql(GDALDatasetH ds, const char *name, rw_log *log);
int64_t rw_count(OGRLayerH layer, rw_log *log);
int rw_extent(OGRLayerH layer, double *wsen);
int rw_area_of_use(int epsg, double *wsen);
int rw_layer_crs(OGRLayerH layer, rw_crs *out, rw_log *log);
int rw_where(OGRLayerH layer, const char *where, rw_log *log);
void rw_box(OGRLayerH layer, const double *wsen, rw_log *log);
void rw_rewind(OGRLayerH layer, rw_log *log);
int rw_next(OGRLayerH layer, const int *fields, int nfields, int max, rw_buf *out, int *end, rw_log *log);

int rw_mend(const unsigned char *wkb, size_t n, rw_buf *out);

OGRCoordinateTransformationH rw_transform_new(const char *from, const char *to, rw_log *log);
int rw_transform(OGRCoordinateTransformationH ct, double *xy, int n, rw_log *log);

GDALDatasetH rw_create(const char *path, rw_log *log);
OGRLayerH rw_create_layer(GDALDatasetH ds, const char *name, const char *wkt, int geometry, rw_log *log);
int rw_create_field(OGRLayerH layer, const char *name, int type, rw_log *log);
int rw_begin(GDALDatasetH ds, rw_log *log);
int rw_put(OGRLayerH layer, const unsigned char *wkb, size_t nwkb, const unsigned char *values, int nfields, rw_log *log);
int rw_commit(GDALDatasetH ds, rw_log *log);

#endif
