package web

import (
	"io/fs"
	"time"

	"evenhand/giveaway"
)

// ShareOf is what pages show of a ticket's number.
var ShareOf = shareOf

// PublicFiles are the files that a site shows the public.
func PublicFiles(c Config, g giveaway.Giveaway, at time.Time) fs.FS {
	return (&Site{cfg: c}).public(g, at)
}
