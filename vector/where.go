package vector

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
)

// checkWhere refuses a filter that names a field the layer lacks in double
// quotes: SQLite would take the unknown name for a text and find nothing.
func checkWhere(where string, l ogrLayer, fields []FieldInfo) error {
	if where == "" {
		return nil
	}
	if strings.ContainsRune(where, 0) {
		return notUnderstood(where, "it is not text", fields)
	}
	if reason := reaches(where); reason != "" {
		return notUnderstood(where, reason, fields)
	}
	for rest := where; rest != ""; {
		i := strings.IndexAny(rest, `"'`)
		if i < 0 {
			break
		}
		quote := rest[i]
		word, after, closed := strings.Cut(rest[i+1:], string(quote))
		if !closed {
			return notUnderstood(where, fmt.Sprintf("a %c is not closed", quote), fields)
		}
		rest = after
		if quote == '\'' || strings.EqualFold(word, l.keyColumn()) || strings.EqualFold(word, l.shapeColumn()) || strings.EqualFold(word, "FID") {
			continue
		}
		if _, err := fieldIndexes(fields, []string{word}); err != nil {
			return fmt.Errorf("where %q is not understood: %w", where, err)
		}
	}
	return nil
}

var (
	// What goes beyond a choice among features: another statement, a comment
	// that hides the rest, a question put to other tables, functions that open
	// files or load code.
	otherTables   = regexp.MustCompile(`(?i)\b(select|attach|detach|pragma|union)\b`)
	openFunctions = regexp.MustCompile(`(?i)\b(load_extension|readfile|writefile|edit|fts3_tokenizer|gdal_\w+|ogr_\w+|spatialite_\w+|st_\w*fromfile)[\]\s\x60]*\(`)
)

// reaches tells what in a filter is not a choice among the layer's features, ""
// for nothing.
func reaches(where string) string {
	bare := quotedParts.ReplaceAllString(where, "0")
	switch {
	case strings.Contains(bare, ";"):
		return "a filter is one condition, without ;"
	case strings.Contains(bare, "--") || strings.Contains(bare, "/*"):
		return "a filter holds no comments"
	}
	if w := otherTables.FindString(bare); w != "" {
		return fmt.Sprintf("a filter looks at the layer's own columns, without %q; a column of that name stands in double quotes", w)
	}
	if w := openFunctions.FindString(bare); w != "" {
		return "the function " + strings.TrimSpace(strings.TrimRight(w, "(]` ")) + " is not for filters"
	}
	return ""
}

// notUnderstood refuses a filter in one line; reason may be "".
func notUnderstood(where, reason string, fields []FieldInfo) error {
	if reason != "" {
		reason = " (" + reason + ")"
	}
	names := make([]string, len(fields))
	for i, f := range fields {
		names[i] = f.Name
	}
	return fmt.Errorf("where %q is not understood%s; the columns are %s", where, reason, list(names))
}

// complaintOGR is what OGR SQL says of a filter it cannot take, from its
// messages; around it stands the filter again. SQLite's complaint about one
// never comes through, but for the query the filter was put into.
var complaintOGR = regexp.MustCompile(`^(Undefined function '[^']*' used|SQL Expression Parsing Error: syntax error, unexpected (?:end of string|[A-Z]+\b|'[^']*'))`)

// refused is notUnderstood for a filter that a library would not take.
func refused(where string, said error, fields []FieldInfo) error {
	reason, found := strangeWord(where, fields)
	if !found {
		reason = complaint(said.Error())
	}
	return notUnderstood(where, reason, fields)
}

// complaint is the part of a library's message about a filter that speaks of
// the filter, "" when there is none to be found.
func complaint(message string) string {
	m := complaintOGR.FindString(message)
	if len(m) > 120 {
		return ""
	}
	return strings.TrimPrefix(m, "SQL Expression Parsing Error: ")
}

var (
	quotedParts = regexp.MustCompile(`"[^"]*"|'[^']*'`)
	bareWords   = regexp.MustCompile(`[\pL_][\pL\pN_]*\s*\(?`)
	// Words that stand in filters, of SQLite and OGR SQL.
	filterWords = strings.Fields(" and or not in is null like ilike between escape glob true false case when then else end cast as collate nocase exists select from where distinct isnull notnull regexp match fid ")
	// Words of SQL that tables like to use as names.
	keptWords = strings.Fields(" order group by select from where table index check default values limit in is as to set key references case end on ")
)

// strangeWord looks in a filter that failed for the most likely reason: a bare
// word that is no column, or a column whose name is a word of SQL.
func strangeWord(where string, fields []FieldInfo) (reason string, found bool) {
	for _, w := range bareWords.FindAllString(quotedParts.ReplaceAllString(where, "0"), -1) {
		name := strings.TrimSpace(w)
		if strings.HasSuffix(name, "(") {
			continue // a function
		}
		i := fieldIndex(fields, name)
		switch {
		case i >= 0 && slices.Contains(keptWords, strings.ToLower(name)):
			return fmt.Sprintf("%q is a word of SQL: as a column it stands in double quotes", name), true
		case i < 0 && !slices.Contains(filterWords, strings.ToLower(name)):
			return fmt.Sprintf("no column %q", name), true
		}
	}
	return "", false
}
