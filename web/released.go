package web

import (
	"io/fs"
	"slices"
	"strings"
	"time"

	"evenhand/draw"
	"evenhand/giveaway"
)

// public are the published files of a giveaway as anybody may read them at the
// time at: without the result while it is held back. g may be the giveaway as
// it is, or as [Site.giveaway] gives it. Whatever a page for the public shows
// of the files comes from here.
func (s *Site) public(g giveaway.Giveaway, at time.Time) fs.FS {
	files := s.cfg.Host.Store.Publication(g.ID)
	if g.State == giveaway.StateDrawn && !g.Held(at) {
		return files
	}
	return unreleased{files}
}

// known are the files that belong to the giveaway as it is given: all of them
// if that says that it is drawn. Pages of the desk give it as it is, pages for
// the public as the public may know it.
func (s *Site) known(g giveaway.Giveaway) fs.FS { return s.public(g, g.Released) }

// An unreleased publication has no result: the files of one are not there,
// whatever their number, and not in the list either.
type unreleased struct{ files fs.FS }

// ofResult reports whether a published name is of the result.
func ofResult(name string) bool {
	stem, _, _ := strings.Cut(name, ".")
	return stem+".txt" == draw.RecordFile || stem+".txt" == draw.OutcomeFile
}

func (u unreleased) Open(name string) (fs.File, error) {
	if name == "." {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrPermission} // its list would tell; see ReadDir
	}
	if ofResult(name) {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
	}
	return u.files.Open(name)
}

func (u unreleased) ReadDir(name string) ([]fs.DirEntry, error) {
	list, err := fs.ReadDir(u.files, name)
	return slices.DeleteFunc(list, func(f fs.DirEntry) bool { return ofResult(f.Name()) }), err
}
