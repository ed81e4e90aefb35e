package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"

	"evenhand/draw"
	"evenhand/giveaway"
)

// A DB holds the signing key.
var _ giveaway.Keys = (*DB)(nil)

// signingKey is the vault's label for the signing key. It belongs to the
// installation, so it is sealed with no draw id.
const signingKey = "signing-key"

// What a caller may meet at the start.
var (
	// ErrOtherMaster: the database was sealed under another master key.
	ErrOtherMaster = errors.New("this database belongs to another master key file; " +
		"every server on it needs the file that it was started with first")
	// ErrOtherSigner: the public host name changed after a giveaway was
	// opened under the old one.
	ErrOtherSigner = errors.New("a giveaway was opened under another host name, and its receipts bear that name; " +
		"start with the address that it was opened under")
	// ErrNoSigner: Installation was not called yet.
	ErrNoSigner = errors.New("there is no signing key yet")
	// ErrClaimed: the desk has its passphrase already.
	ErrClaimed = errors.New("the desk is claimed already")
)

// installed is the one row of the installation.
type installed struct {
	signer, verifier string
	key, check       []byte
}

func readInstalled(ctx context.Context, q querier) (i installed, err error) {
	err = q.QueryRowContext(ctx, `SELECT signer, verifier, signing_key, master_check FROM installation`).
		Scan(&i.signer, &i.verifier, &i.key, &i.check)
	return i, err
}

// checkMaster compares the master key with the one that the database knows.
func (db *DB) checkMaster(ctx context.Context) error {
	i, err := readInstalled(ctx, db.write)
	if errors.Is(err, sql.ErrNoRows) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("read the installation: %w", err)
	}
	return db.sameMaster(i)
}

func (db *DB) sameMaster(i installed) error {
	if check := db.vault.Check(); string(i.check) != string(check[:]) {
		return ErrOtherMaster
	}
	return nil
}

// Installation returns the one signing key, and makes it at first start, from
// rand and with the signer's name (the public host name). Servers that start
// at once get the same key. Another name than before gives a new key as long
// as no giveaway was opened; after that it is [ErrOtherSigner]. Another
// master key is [ErrOtherMaster].
func (db *DB) Installation(ctx context.Context, signerName string, rand io.Reader) (draw.Signer, error) {
	fresh, err := draw.NewSigner(rand, signerName)
	if err != nil {
		return draw.Signer{}, fmt.Errorf("make the signing key: %w", err)
	}
	sealed, err := db.vault.Seal(signingKey, "", []byte(fresh.Secret()))
	if err != nil {
		return draw.Signer{}, fmt.Errorf("make the signing key: %w", err)
	}
	var now installed
	err = db.tx(ctx, "set up the installation", func(tx *sql.Tx) (err error) {
		now, err = db.install(ctx, tx, fresh, sealed)
		return err
	})
	if err != nil {
		return draw.Signer{}, err
	}
	signer, err := db.openSigner(now)
	if err != nil {
		return draw.Signer{}, fmt.Errorf("read the signing key: %w", err)
	}
	db.mu.Lock()
	defer db.mu.Unlock()
	db.signer = &signer
	return signer, nil
}

// install puts the fresh key into the row if there is none, or if the name
// has changed in time; it returns the row as it then is.
func (db *DB) install(ctx context.Context, tx *sql.Tx, fresh draw.Signer, sealed []byte) (installed, error) {
	check := db.vault.Check()
	_, err := exec(ctx, tx, `
		INSERT INTO installation (one, signer, verifier, signing_key, master_check) VALUES (true, $1, $2, $3, $4)
		ON CONFLICT (one) DO NOTHING`, fresh.Name(), fresh.VerifierKey(), sealed, check[:])
	if err != nil {
		return installed{}, err
	}
	i, err := readInstalled(ctx, tx)
	if err == nil {
		err = db.sameMaster(i)
	}
	if err != nil || i.signer == fresh.Name() {
		return i, err
	}
	n, err := exec(ctx, tx, `
		UPDATE installation SET signer = $1, verifier = $2, signing_key = $3
		WHERE NOT EXISTS (SELECT 1 FROM giveaways WHERE state <> 'draft')`, fresh.Name(), fresh.VerifierKey(), sealed)
	if err == nil && n == 0 {
		err = ErrOtherSigner
	}
	if err != nil {
		return installed{}, err
	}
	return readInstalled(ctx, tx)
}

func (db *DB) openSigner(i installed) (draw.Signer, error) {
	secret, err := db.vault.Open(signingKey, "", i.key)
	if err != nil {
		return draw.Signer{}, err
	}
	signer, err := draw.ParseSigner(string(secret))
	if err == nil && signer.VerifierKey() != i.verifier {
		err = errors.New("the sealed key and the verifier key are not a pair")
	}
	return signer, err
}

// Signer returns the signing key that Installation found or made.
func (db *DB) Signer(context.Context) (draw.Signer, error) {
	db.mu.Lock()
	defer db.mu.Unlock()
	if db.signer == nil {
		return draw.Signer{}, ErrNoSigner
	}
	return *db.signer, nil
}

// DeskClaimed tells whether the desk has a passphrase.
func (db *DB) DeskClaimed(ctx context.Context) (bool, error) {
	hash, err := db.DeskHash(ctx)
	return hash != "", err
}

// DeskHash returns the hash of the desk's passphrase, "" until it is claimed.
func (db *DB) DeskHash(ctx context.Context) (string, error) {
	var hash sql.NullString
	err := db.read.QueryRowContext(ctx, `SELECT desk FROM installation`).Scan(&hash)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return "", fmt.Errorf("read the desk: %w", err)
	}
	return hash.String, nil
}

// ClaimDesk sets the hash of the desk's passphrase, once: [ErrClaimed] after
// that, and [ErrNoSigner] before Installation.
func (db *DB) ClaimDesk(ctx context.Context, passphraseHash string) error {
	if passphraseHash == "" {
		return errors.New("claim the desk: no passphrase")
	}
	return db.tx(ctx, "claim the desk", func(tx *sql.Tx) error {
		n, err := exec(ctx, tx, `UPDATE installation SET desk = $1 WHERE desk IS NULL`, passphraseHash)
		if err != nil || n == 1 {
			return err
		}
		if _, err := readInstalled(ctx, tx); errors.Is(err, sql.ErrNoRows) {
			return ErrNoSigner
		}
		return ErrClaimed
	})
}
