-- +goose Up

-- From when on the public may know the result. A draw that was made before
-- there was a show was known at once.
ALTER TABLE giveaways ADD COLUMN released bigint
    CONSTRAINT released_after_draw CHECK (released IS NULL OR (state = 'drawn' AND released >= drawn));
UPDATE giveaways SET released = drawn WHERE state = 'drawn';

-- Where the show of a giveaway stands. It moves by compare-and-swap on the
-- version; no row: it has not begun.
CREATE TABLE shows (
    draw    text    COLLATE "C" NOT NULL,
    version bigint  NOT NULL, -- from 1; one more with each change
    step    text    NOT NULL,
    place   bigint  NOT NULL, -- from 1 while a place is shown, otherwise 0
    held    boolean NOT NULL,
    dark    boolean NOT NULL,
    delay   bigint  NOT NULL, -- seconds by which viewers' pages follow the stage
    moved   bigint  NOT NULL, -- in milliseconds, as are the times in reached
    reached text    NOT NULL, -- JSON: the pictures in the order in which they were first shown

    CONSTRAINT one_show_per_giveaway PRIMARY KEY (draw),
    CONSTRAINT show_of_a_giveaway FOREIGN KEY (draw) REFERENCES giveaways (id),
    CONSTRAINT show_steps CHECK (step IN ('soon', 'tickets', 'locked', 'number', 'opened', 'line', 'first', 'next', 'alternates')),
    CONSTRAINT show_version_from_1 CHECK (version > 0),
    CONSTRAINT show_place_while_shown CHECK (place >= 0 AND (place > 0) = (step = 'first')),
    CONSTRAINT show_delay_bounds CHECK (delay BETWEEN 0 AND 120)
);

-- Keys of stage and remote. Of a key the hash is looked up; the key itself lies
-- sealed, so that the desk can show its code again. A revoked one opens nothing.
CREATE TABLE show_keys (
    hash    bytea  NOT NULL,
    kind    text   NOT NULL,
    draw    text   COLLATE "C" NOT NULL,
    sealed  bytea  NOT NULL,
    made    bigint NOT NULL,
    revoked bigint,

    CONSTRAINT one_right_per_key PRIMARY KEY (hash),
    CONSTRAINT key_of_a_giveaway FOREIGN KEY (draw) REFERENCES giveaways (id),
    CONSTRAINT key_kinds CHECK (kind IN ('stage', 'remote')),
    CONSTRAINT key_hash_is_32_bytes CHECK (length(hash) = 32)
);

CREATE INDEX keys_by_giveaway ON show_keys (draw, kind);

-- What is said of a ticket on the show, once the creator has decided. Without a
-- row only the ticket is shown. The name itself stays in the entry; words are
-- the creator's, how to say it, and '' for the other two.
CREATE TABLE show_names (
    draw   text   COLLATE "C" NOT NULL,
    ticket text   COLLATE "C" NOT NULL,
    say    text   NOT NULL,
    words  text   NOT NULL,
    seen   bigint NOT NULL,

    CONSTRAINT one_saying_per_ticket PRIMARY KEY (draw, ticket),
    CONSTRAINT saying_of_an_entry FOREIGN KEY (draw, ticket) REFERENCES entries (draw, ticket),
    CONSTRAINT sayings CHECK (say IN ('name', 'ticket', 'like')),
    CONSTRAINT words_only_for_like CHECK ((words <> '') = (say = 'like'))
);
