#define _GNU_SOURCE
#include "closed.h"

#include <dlfcn.h>
#include <fcntl.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <proj.h>
#include <sqlite3.h>

// The folders PROJ may read from, links resolved; set once, before any file of
// a user's is looked at.
enum { MOST_FOLDERS = 16 };
static char *folders[MOST_FOLDERS];
static int nfolders;

static void add_folder(const char *path, size_t n) {
    char name[PATH_MAX], real[PATH_MAX];
    if (n == 0 || n >= sizeof name || nfolders == MOST_FOLDERS) return;
    memcpy(name, path, n);
    name[n] = 0;
    if (realpath(name, real) != NULL && strcmp(real, "/") != 0) folders[nfolders++] = strdup(real);
}

// allowed tells whether a file is a plain one in a folder of PROJ's.
static int allowed(const char *name) {
    char real[PATH_MAX];
    struct stat st;
    if (realpath(name, real) == NULL || stat(real, &st) != 0 || !S_ISREG(st.st_mode)) return 0;
    for (int i = 0; i < nfolders; i++) {
        size_t n = strlen(folders[i]);
        if (strncmp(real, folders[i], n) == 0 && real[n] == '/') return 1;
    }
    return 0;
}

static PROJ_FILE_HANDLE *file_open(PJ_CONTEXT *c, const char *name, PROJ_OPEN_ACCESS access, void *u) {
    (void)c, (void)u;
    if (access != PROJ_OPEN_ACCESS_READ_ONLY || !allowed(name)) return NULL;
    return (PROJ_FILE_HANDLE *)fopen(name, "rb");
}

static size_t file_read(PJ_CONTEXT *c, PROJ_FILE_HANDLE *h, void *to, size_t n, void *u) {
    (void)c, (void)u;
    return fread(to, 1, n, (FILE *)h);
}

static size_t file_write(PJ_CONTEXT *c, PROJ_FILE_HANDLE *h, const void *from, size_t n, void *u) {
    (void)c, (void)h, (void)from, (void)n, (void)u;
    return 0;
}

static int file_seek(PJ_CONTEXT *c, PROJ_FILE_HANDLE *h, long long offset, int whence, void *u) {
    (void)c, (void)u;
    return fseeko((FILE *)h, (off_t)offset, whence) == 0;
}

static unsigned long long file_tell(PJ_CONTEXT *c, PROJ_FILE_HANDLE *h, void *u) {
    (void)c, (void)u;
    return (unsigned long long)ftello((FILE *)h);
}

static void file_close(PJ_CONTEXT *c, PROJ_FILE_HANDLE *h, void *u) {
    (void)c, (void)u;
    fclose((FILE *)h);
}

static int file_exists(PJ_CONTEXT *c, const char *name, void *u) {
    (void)c, (void)u;
    return allowed(name);
}

static int no_name(PJ_CONTEXT *c, const char *name, void *u) {
    (void)c, (void)name, (void)u;
    return 0;
}

static int no_rename(PJ_CONTEXT *c, const char *from, const char *to, void *u) {
    (void)c, (void)from, (void)to, (void)u;
    return 0;
}

static const PROJ_FILE_API guarded = {1, file_open, file_read, file_write, file_seek, file_tell, file_close, file_exists, no_name, no_name, no_rename};

static PJ_CONTEXT *(*proj_own_create)(void);

// proj_context_create stands before PROJ's own of that name, which GDAL calls
// for each thread: a context does not pass its way of opening files on to
// others, and GDAL has no call to say how. A coordinate system in a file may
// name any path as a grid of shifts (+nadgrids=…) or a list (+init=…).
PJ_CONTEXT *proj_context_create(void) {
    if (proj_own_create == NULL) {
        *(void **)&proj_own_create = dlsym(RTLD_NEXT, "proj_context_create");
        if (proj_own_create == NULL) return NULL;
    }
    PJ_CONTEXT *c = proj_own_create();
    if (c != NULL && nfolders > 0) proj_context_set_fileapi(c, &guarded, NULL);
    return c;
}

// judge lets a file opened for reading be read, and no SQL of its own be run:
// that of views, and of what else is stored under a name.
static int judge(void *u, int action, const char *a, const char *b, const char *db, const char *inside) {
    (void)u, (void)a, (void)db;
    if (inside != NULL || action == SQLITE_ATTACH || action == SQLITE_DETACH) return SQLITE_DENY;
    if (action == SQLITE_FUNCTION && b != NULL && sqlite3_stricmp(b, "load_extension") == 0) return SQLITE_DENY;
    return SQLITE_OK;
}

// opened is called by SQLite for every database that anyone in the process opens.
static int opened(sqlite3 *db, char **error, const sqlite3_api_routines *api) {
    (void)error, (void)api;
    const char *name = sqlite3_db_filename(db, "main");
    if (name == NULL || *name == 0 || sqlite3_db_readonly(db, "main") != 1) return SQLITE_OK;
    const char *base = strrchr(name, '/');
    if (strcmp(base != NULL ? base + 1 : name, "proj.db") == 0) {
        // PROJ's own list of coordinate systems, which is made of views.
        return SQLITE_OK;
    }
    sqlite3_limit(db, SQLITE_LIMIT_LENGTH, RW_LONGEST_VALUE);
    return sqlite3_set_authorizer(db, judge, NULL);
}

int rw_close_doors(void) {
    *(void **)&proj_own_create = dlsym(RTLD_NEXT, "proj_context_create");
    PJ_INFO info = proj_info();
    // searchpath has all of them, with a colon between; paths only what a program set.
    for (const char *p = info.searchpath; p != NULL && *p != 0;) {
        size_t n = strcspn(p, ":");
        add_folder(p, n);
        p += n + (p[n] == ':');
    }
    return sqlite3_auto_extension((void (*)(void))opened) == SQLITE_OK && nfolders > 0;
}

int rw_doors_closed(void) {
    Dl_info at;
    void *found = dlsym(RTLD_DEFAULT, "proj_context_create");
    return found == (void *)proj_context_create && dladdr(found, &at) != 0;
}
