#include "ogr.h"

#include <limits.h>
#include <stdlib.h>

#include "cpl_error.h"
#include "cpl_string.h"

// make_valid keeps all ground an outline goes round, in whatever sense, and
// takes holes away from it; where GEOS is too old for that, ground that is gone
// round twice becomes a hole.
static OGRGeometryH make_valid(OGRGeometryH g) {
    char **options = CSLSetNameValue(NULL, "METHOD", "STRUCTURE");
    OGRGeometryH out = OGR_G_MakeValidEx(g, options);
    CSLDestroy(options);
    return out != NULL ? out : OGR_G_MakeValid(g);
}

// rw_mend has GEOS judge polygons given as WKB; out is NULL when that is all.
// When they are not valid and can be mended the result is put into out.
int rw_mend(const unsigned char *wkb, size_t n, rw_buf *out) {
    OGRGeometryH g = NULL, mended = NULL;
    int verdict = RW_LOST;
    if (!OGRGetGEOSVersion(NULL, NULL, NULL)) return RW_NOT_JUDGED;
    // What is wrong is said by the verdict; GEOS's own words are not wanted.
    CPLPushErrorHandler(CPLQuietErrorHandler);
    if (n < INT_MAX && OGR_G_CreateFromWkb(wkb, NULL, &g, (int)n) == OGRERR_NONE && g != NULL) {
        if (OGR_G_IsValid(g)) {
            verdict = RW_VALID;
        } else if (out != NULL && (mended = make_valid(g)) != NULL) {
            OGR_G_FlattenTo2D(mended);
            size_t size = OGR_G_WkbSizeEx(mended);
            unsigned char *data = malloc(size);
            if (data != NULL && OGR_G_ExportToIsoWkb(mended, wkbNDR, data) == OGRERR_NONE) {
                verdict = RW_MENDED;
                out->data = data;
                out->len = out->cap = size;
            } else {
                free(data);
            }
        }
    }
    CPLPopErrorHandler();
    if (mended != NULL) OGR_G_DestroyGeometry(mended);
    if (g != NULL) OGR_G_DestroyGeometry(g);
    return verdict;
}
