package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"evenhand/draw"
	"evenhand/giveaway"
)

// Names in FOLDER.private.
const (
	keyName    = "signing-key.txt"
	termsName  = "terms.json"
	importName = "import"
)

// A folder is a publication on disk, with the private folder beside it.
type folder struct{ path string }

// folderAt makes a folder of a path as typed, so that "." and a slash at the
// end have a private folder beside them too.
func folderAt(path string) (folder, error) {
	clean := filepath.Clean(path)
	if base := filepath.Base(clean); base != "." && base != ".." && base != string(filepath.Separator) {
		return folder{clean}, nil
	}
	abs, err := filepath.Abs(clean)
	if err != nil || filepath.Dir(abs) == abs {
		return folder{}, fmt.Errorf("folder %s: want a folder within another", path)
	}
	return folder{abs}, nil
}

func (f folder) public(name string) string  { return filepath.Join(f.path, name) }
func (f folder) private(name string) string { return filepath.Join(f.path+".private", name) }

// sealName is a seal's file in the private folder.
func sealName(role string) string { return "seal." + role + ".txt" }

// make makes both folders. The private one is for its owner only, even if it
// was there before.
func (f folder) make() error {
	if err := f.makePublic(); err != nil {
		return err
	}
	if err := os.MkdirAll(f.private(""), privateDir); err != nil {
		return fmt.Errorf("make private folder: %w", err)
	}
	return os.Chmod(f.private(""), privateDir)
}

// makePublic makes the folder of the publication.
func (f folder) makePublic() error {
	if err := os.MkdirAll(f.path, 0o755); err != nil {
		return fmt.Errorf("make folder: %w", err)
	}
	return nil
}

// signer reads the folder's signing key.
func (f folder) signer() (draw.Signer, error) {
	b, err := readSmall(f.private(keyName))
	if errors.Is(err, fs.ErrNotExist) {
		return draw.Signer{}, fmt.Errorf("no signing key at %s: is this the folder that draw open made?", f.private(keyName))
	}
	if err != nil {
		return draw.Signer{}, fmt.Errorf("signing key: %w", err)
	}
	s, err := draw.ParseSigner(strings.TrimSuffix(string(b), "\n"))
	if err != nil {
		return draw.Signer{}, fmt.Errorf("%s: %w", f.private(keyName), err)
	}
	return s, nil
}

// seal reads a seal that is kept in the private folder, or fs.ErrNotExist.
func (f folder) seal(role string) (draw.Seal, error) { return readSeal(f.private(sealName(role))) }

func readSeal(path string) (draw.Seal, error) {
	b, err := readSmall(path)
	if err != nil {
		return draw.Seal{}, err
	}
	return draw.ParseSeal(path, b)
}

// terms reads the terms as they stand now.
func (f folder) terms() (giveaway.Terms, error) {
	r, err := os.Open(f.private(termsName))
	if err != nil {
		return giveaway.Terms{}, fmt.Errorf("terms: %w", err)
	}
	defer r.Close()
	t, err := giveaway.ReadTerms(r)
	if err != nil {
		return t, fmt.Errorf("%s: %w", f.private(termsName), err)
	}
	return t, nil
}

// A host is a folder with its signing key and the opening that stands: what
// all commands after open begin with.
type host struct {
	folder
	signer   draw.Signer
	verifier draw.Verifier
	opening  draw.Opening
}

func hostOf(path string) (host, error) {
	f, err := folderAt(path)
	if err != nil {
		return host{}, err
	}
	h := host{folder: f}
	if h.signer, err = f.signer(); err != nil {
		return h, err
	}
	if h.verifier, err = draw.ParseVerifier(h.signer.VerifierKey()); err != nil {
		return h, fmt.Errorf("signing key: %w", err)
	}
	text, err := h.note(draw.OpeningFile)
	if err != nil {
		return h, err
	}
	h.opening, err = draw.ParseOpening(draw.OpeningFile, text)
	return h, err
}

// note reads a note of the publication and returns its text.
func (h host) note(name string) ([]byte, error) {
	data, err := readSmall(h.public(name))
	if err != nil {
		return nil, err
	}
	return draw.OpenNote(name, data, h.verifier)
}

// has tells whether a file of the publication is there.
func (h host) has(name string) bool {
	_, err := os.Lstat(h.public(name))
	return err == nil
}

// freeze reads the freeze and returns it with the hash of its text.
func (h host) freeze() (draw.Freeze, draw.Digest, error) {
	text, err := h.note(draw.FreezeFile)
	if err != nil {
		return draw.Freeze{}, draw.Digest{}, err
	}
	f, err := draw.ParseFreeze(draw.FreezeFile, text)
	return f, draw.Hash(text), err
}

// record reads the record and returns it with the hash of its text.
func (h host) record() (draw.Record, draw.Digest, error) {
	text, err := h.note(draw.RecordFile)
	if err != nil {
		return draw.Record{}, draw.Digest{}, err
	}
	r, err := draw.ParseRecord(draw.RecordFile, text)
	return r, draw.Hash(text), err
}
