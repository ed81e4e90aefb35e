-- +goose Up

-- What belongs to the installation as a whole: one row, made at first start.
CREATE TABLE installation (
    one          boolean NOT NULL DEFAULT true,
    signer       text    NOT NULL, -- the signer's name: the public host name
    verifier     text    NOT NULL, -- its verifier key, as it stands in openings
    signing_key  bytea   NOT NULL, -- sealed under the master key
    master_check bytea   NOT NULL, -- tells another master key; opens nothing
    desk         text,             -- hash of the desk's passphrase; null until the desk is claimed

    CONSTRAINT one_installation PRIMARY KEY (one),
    CONSTRAINT one_is_true CHECK (one)
);

-- One row a giveaway. Its state moves by compare-and-swap on this row; every
-- write to an entry holds it under a shared lock, every move exclusively.
CREATE TABLE giveaways (
    id            text    COLLATE "C" NOT NULL,
    state         text    NOT NULL,
    terms         text    NOT NULL, -- JSON, as desk and command line read it
    sample        boolean NOT NULL,
    created       bigint  NOT NULL,
    opened        bigint,
    revision      bigint  NOT NULL DEFAULT 0, -- of the opening; 0 for a draft
    opening       text,                       -- the text of opening.txt, without signatures
    opening_hash  bytea,
    opens         bigint,                     -- as the opening says
    closes        bigint,
    event         bigint,
    revised       bigint  NOT NULL DEFAULT 0, -- 0 for a first opening
    rules_version bigint  NOT NULL DEFAULT 0, -- the revision that brought the rules in force
    host_secret   bytea,                      -- sealed under the master key
    attempt       text,                       -- who makes the lists while freezing
    attempt_alive bigint,                     -- the attempt's last sign of life
    frozen        bigint,
    drawn         bigint,

    CONSTRAINT one_giveaway_per_draw_id PRIMARY KEY (id),
    CONSTRAINT giveaway_states CHECK (state IN ('draft', 'open', 'freezing', 'frozen', 'drawn', 'cancelled')),
    -- From open on a giveaway has all that an opening says, and its secret.
    CONSTRAINT opened_with_opening CHECK (state = 'draft' OR (opening IS NOT NULL AND opening_hash IS NOT NULL AND opened IS NOT NULL
        AND opens < closes AND closes < event AND revision > 0 AND rules_version > 0 AND host_secret IS NOT NULL)),
    -- A list is being made exactly while freezing.
    CONSTRAINT attempt_while_freezing CHECK ((state = 'freezing') = (attempt IS NOT NULL)),
    CONSTRAINT attempt_shows_life CHECK ((attempt IS NULL) = (attempt_alive IS NULL)),
    -- Protocol, freeze.txt: closes <= frozen < event.
    CONSTRAINT frozen_in_time CHECK ((state NOT IN ('freezing', 'frozen', 'drawn') OR frozen IS NOT NULL)
        AND (frozen IS NULL OR (closes <= frozen AND frozen < event))),
    -- Protocol, record.txt: drawn not before event.
    CONSTRAINT drawn_after_event CHECK ((state = 'drawn') = (drawn IS NOT NULL) AND (drawn IS NULL OR drawn >= event))
);

-- One row a ticket, for ever: a withdrawn one stays, with its reason.
CREATE TABLE entries (
    draw        text    COLLATE "C" NOT NULL,
    ticket      text    COLLATE "C" NOT NULL,
    key         text    NOT NULL, -- the address as it counts for duplicates
    typed       text    NOT NULL, -- the address as it was typed
    size_system text    NOT NULL, -- the three are '' where the prize has no sizes
    size        text    NOT NULL,
    size_width  text    NOT NULL,
    live        text    NOT NULL, -- places: country and state codes
    live_state  text    NOT NULL,
    ship        text    NOT NULL,
    ship_state  text    NOT NULL,
    friend      boolean NOT NULL, -- a friend receives the parcel
    name        text    NOT NULL, -- to be said on the show; may be ''
    age         text    NOT NULL, -- a range in words
    step        boolean NOT NULL, -- the creator's own step was ticked
    answers     text    NOT NULL, -- JSON: question key to answer
    salt        bytea   NOT NULL,
    commitment  bytea   NOT NULL,
    opening     bytea   NOT NULL, -- hash of the opening that stood; with entered, the receipt
    entered     bigint  NOT NULL, -- of the entry or its last change
    link        bytea   NOT NULL, -- hash of the private page's secret
    reason      text,             -- why it will stand in excluded.txt; null: in the roll
    withdrawn   bigint,           -- when

    CONSTRAINT one_row_per_ticket PRIMARY KEY (draw, ticket),
    CONSTRAINT entry_of_a_giveaway FOREIGN KEY (draw) REFERENCES giveaways (id),
    CONSTRAINT one_entry_per_link UNIQUE (draw, link),
    -- Protocol, excluded.txt: the five reasons.
    CONSTRAINT excluded_reasons CHECK (reason IN ('duplicate', 'unconfirmed', 'region', 'withdrawn', 'ineligible')),
    CONSTRAINT withdrawn_is_a_reason CHECK ((withdrawn IS NOT NULL) = (reason IS NOT NULL AND reason = 'withdrawn')),
    CONSTRAINT digests_are_32_bytes CHECK (length(salt) = 32 AND length(commitment) = 32 AND length(opening) = 32 AND length(link) = 32)
);

-- One entry for each address of a giveaway. A withdrawn ticket frees it.
CREATE UNIQUE INDEX one_entry_per_address ON entries (draw, key) WHERE withdrawn IS NULL;

-- The bytes of published files and of lists in the making. A version is
-- written once and never changed: a revision points a name at a new version,
-- so that a reader in the middle of a file is not disturbed.
CREATE TABLE file_chunks (
    draw    text   COLLATE "C" NOT NULL,
    version text   COLLATE "C" NOT NULL, -- such as opening.2.txt, or a list under its attempt
    chunk   bigint NOT NULL,             -- from 0; 65536 bytes each but the last; an empty file is one empty chunk
    bytes   bytea  NOT NULL,

    CONSTRAINT chunks_are_written_once PRIMARY KEY (draw, version, chunk),
    CONSTRAINT chunk_of_a_giveaway FOREIGN KEY (draw) REFERENCES giveaways (id),
    CONSTRAINT chunk_size CHECK (chunk >= 0 AND length(bytes) <= 65536)
);

-- What anybody may read: a name without a row here is not served.
CREATE TABLE published (
    draw    text   COLLATE "C" NOT NULL,
    name    text   COLLATE "C" NOT NULL,
    version text   COLLATE "C" NOT NULL,
    size    bigint NOT NULL, -- in bytes
    hash    bytea  NOT NULL, -- SHA-256 of the bytes

    CONSTRAINT one_file_per_name PRIMARY KEY (draw, name),
    CONSTRAINT published_of_a_giveaway FOREIGN KEY (draw) REFERENCES giveaways (id),
    CONSTRAINT file_hash_is_32_bytes CHECK (size >= 0 AND length(hash) = 32)
);

-- What happened to a giveaway and when, without personal data.
CREATE TABLE log (
    draw text   COLLATE "C" NOT NULL,
    at   bigint NOT NULL,
    what text   NOT NULL,

    CONSTRAINT log_of_a_giveaway FOREIGN KEY (draw) REFERENCES giveaways (id)
);

CREATE INDEX log_by_time ON log (draw, at);

-- Sessions of the desk. Only the hash of a token is kept.
CREATE TABLE sessions (
    token   bytea  NOT NULL, -- SHA-256
    data    bytea  NOT NULL,
    expires bigint NOT NULL,

    CONSTRAINT one_session_per_token PRIMARY KEY (token)
);

CREATE INDEX sessions_by_expiry ON sessions (expires);
