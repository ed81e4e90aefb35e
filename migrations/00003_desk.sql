-- +goose Up

-- What a giveaway that was called off says of it (protocol, cancelled.txt), and
-- when the creator said that the recovery sheet is kept. cancel_reason and
-- successor are '' where there is none.
ALTER TABLE giveaways ADD COLUMN cancelled bigint
    CONSTRAINT cancelled_has_a_time CHECK ((state = 'cancelled') = (cancelled IS NOT NULL));
ALTER TABLE giveaways ADD COLUMN cancel_reason text NOT NULL DEFAULT ''
    CONSTRAINT cancelled_has_a_reason CHECK ((state = 'cancelled') = (cancel_reason <> ''));
ALTER TABLE giveaways ADD COLUMN successor text COLLATE "C" NOT NULL DEFAULT ''
    CONSTRAINT successor_of_a_cancelled CHECK (successor = '' OR (state = 'cancelled' AND successor <> id));
ALTER TABLE giveaways ADD COLUMN kept bigint
    CONSTRAINT kept_after_opening CHECK (kept IS NULL OR state <> 'draft');

-- Seconds' secrets that were handed in after the lock. They are public from
-- then on, so they lie here in the clear.
CREATE TABLE handed (
    draw   text   COLLATE "C" NOT NULL,
    role   text   COLLATE "C" NOT NULL,
    secret bytea  NOT NULL,
    at     bigint NOT NULL,

    CONSTRAINT one_secret_per_role PRIMARY KEY (draw, role),
    CONSTRAINT handed_of_a_giveaway FOREIGN KEY (draw) REFERENCES giveaways (id),
    CONSTRAINT secret_is_32_bytes CHECK (length(secret) = 32)
);

-- Cautions that the creator has read. A mark counts for exactly the text that
-- it is the hash of.
CREATE TABLE cautions_read (
    draw text   COLLATE "C" NOT NULL,
    mark bytea  NOT NULL,
    code text   NOT NULL,
    why  text   NOT NULL, -- in the creator's words, why to go on; may be ''
    at   bigint NOT NULL,

    CONSTRAINT one_reading_per_text PRIMARY KEY (draw, mark),
    CONSTRAINT reading_of_a_giveaway FOREIGN KEY (draw) REFERENCES giveaways (id),
    CONSTRAINT mark_is_32_bytes CHECK (length(mark) = 32)
);

-- Forms of giveaways that are being written, as they were typed, sealed under
-- the master key: among them are addresses of people who may not win. A form
-- is replaced by compare-and-swap on its version.
CREATE TABLE typed_forms (
    key     text   COLLATE "C" NOT NULL,
    version bigint NOT NULL, -- from 1
    sealed  bytea  NOT NULL,
    at      bigint NOT NULL,

    CONSTRAINT one_form_per_key PRIMARY KEY (key),
    CONSTRAINT form_version_from_1 CHECK (version > 0)
);

-- Lines of the log that were written within one second keep their order. 0 is
-- a line of before there was a number.
ALTER TABLE log ADD COLUMN n bigint NOT NULL DEFAULT 0;

-- By which door an entry came.
ALTER TABLE entries ADD COLUMN origin text NOT NULL DEFAULT 'form'
    CONSTRAINT entry_origins CHECK (origin IN ('form', 'file', 'paper'));

-- One ticket in the draw for each address of a giveaway. A row of a file that
-- is not in the draw, whatever the reason, keeps nobody out.
DROP INDEX one_entry_per_address;
CREATE UNIQUE INDEX one_ticket_in_the_draw_per_address ON entries (draw, key) WHERE reason IS NULL;

-- Files that wait for a last look before they are imported, in parts, sealed
-- under the master key. They are dropped after a day.
CREATE TABLE uploads (
    draw   text   COLLATE "C" NOT NULL,
    key    text   COLLATE "C" NOT NULL,
    name   text   COLLATE "C" NOT NULL,
    part   bigint NOT NULL, -- from 0
    sealed bytea  NOT NULL,
    at     bigint NOT NULL,

    CONSTRAINT upload_part_once PRIMARY KEY (draw, key, name, part),
    CONSTRAINT upload_for_a_giveaway FOREIGN KEY (draw) REFERENCES giveaways (id),
    CONSTRAINT upload_part_from_0 CHECK (part >= 0)
);

-- When the letter that brings a question of the sponsor to the winner was
-- copied first.
ALTER TABLE asks ADD COLUMN noticed bigint;
