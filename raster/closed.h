#ifndef RW_CLOSED_H
#define RW_CLOSED_H

// The longest text or blob taken from a database, bytes; the largest shape that
// is taken is shorter.
enum { RW_LONGEST_VALUE = 160 << 20 };

// rw_close_doors lets PROJ read its own folders only, and SQLite run no SQL of
// a file's own. It is called once, before any file of a user's is opened. 0:
// PROJ has no folder, or SQLite did not take the hook.
int rw_close_doors(void);

// rw_doors_closed tells whether GDAL's calls of PROJ go through here: 0 where
// the system links libraries in a way that this program cannot stand before.
int rw_doors_closed(void);

#endif
