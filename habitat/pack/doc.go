// Package pack makes the field pack of a finished run: the chosen patches as
// files of open standards for a phone, a GPS and a printer, in one zip
// archive. The same run and choice give the same bytes.
package pack
