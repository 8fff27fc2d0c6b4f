// Package handover puts the files of a finished run in the place of those of
// the run before, so that whoever looks, at any moment and after any crash,
// finds the files of one run, whole.
//
// A run takes its folder first (Take): one run at a time. It then makes its
// files in a stage, a folder beside the results. Commit brings the stage's
// bytes to the disk and exchanges the two folders in one step of the file
// system. Where that cannot be done (a mount point, a folder the user keeps
// other folders in, a system without the call) a journal is written instead,
// which names every move; then the files move one by one. A crash between the
// moves leaves the journal, which Pending tells of, and the next Take makes
// the rest of them.
//
// Everything on the way has a name that begins with ".rillwood-"; the next
// Take clears up what a dead run left. Files with other names are the user's:
// they are kept, also those that come to lie in the folder during a run.
package handover
