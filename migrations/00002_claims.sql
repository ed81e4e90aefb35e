-- +goose Up

-- The revision of outcome.txt, 0 until there is one. An outcome is published
-- by compare-and-swap on it; only a drawn giveaway has one.
ALTER TABLE giveaways ADD COLUMN outcome_revision bigint NOT NULL DEFAULT 0
    CONSTRAINT outcome_after_draw CHECK (outcome_revision = 0 OR (outcome_revision > 0 AND state = 'drawn'));

-- A withdrawn ticket keeps what its receipt and its entry text are made of, no
-- more.
UPDATE entries SET typed = key, live = '', live_state = '', ship_state = '',
    friend = false, name = '', age = '', step = false, answers = '{}'
WHERE withdrawn IS NOT NULL;

-- One row a drawn place for which a letter was made. What a person wrote lies
-- sealed under the master key; in the clear stand ticket and times only.
CREATE TABLE claims (
    draw          text   COLLATE "C" NOT NULL,
    place         bigint NOT NULL, -- from 1, as in record.txt
    ticket        text   COLLATE "C" NOT NULL,
    link_hash     bytea  NOT NULL, -- of the claim page's secret
    sealed_link   bytea  NOT NULL, -- the secret itself, so that the letter can be shown again
    made          bigint NOT NULL, -- the link
    noticed       bigint,          -- when the letter was copied first
    until         bigint,          -- end of the answer period
    version       bigint NOT NULL DEFAULT 0, -- how many answers were written; the last one stands
    sealed_answer bytea,
    answered      bigint,
    came_by       text,            -- the page, or what the creator took down

    CONSTRAINT one_claim_per_place PRIMARY KEY (draw, place),
    CONSTRAINT claim_of_a_ticket FOREIGN KEY (draw, ticket) REFERENCES entries (draw, ticket),
    CONSTRAINT one_place_per_ticket UNIQUE (draw, ticket),
    CONSTRAINT one_claim_per_link UNIQUE (draw, link_hash),
    CONSTRAINT claim_place_from_1 CHECK (place > 0),
    CONSTRAINT claim_link_hash_is_32_bytes CHECK (length(link_hash) = 32),
    -- The answer period has an end exactly when it has begun.
    CONSTRAINT noticed_until CHECK ((noticed IS NULL) = (until IS NULL) AND (noticed IS NULL OR noticed < until)),
    CONSTRAINT answered_whole CHECK ((version = 0) = (sealed_answer IS NULL) AND (version = 0) = (answered IS NULL)
        AND (version = 0) = (came_by IS NULL)),
    CONSTRAINT ways_an_answer_comes CHECK (came_by IN ('page', 'chat', 'phone'))
);

-- The sponsor's questions to a winner, each with a link of its own.
CREATE TABLE asks (
    draw         text   COLLATE "C" NOT NULL,
    place        bigint NOT NULL,
    n            bigint NOT NULL, -- from 1, without gaps
    kind         text   NOT NULL,
    link_hash    bytea  NOT NULL,
    sealed_link  bytea  NOT NULL,
    sealed_ask   bytea  NOT NULL,
    asked        bigint NOT NULL,
    sealed_reply bytea,           -- written once
    replied      bigint,

    CONSTRAINT asks_are_numbered PRIMARY KEY (draw, place, n),
    CONSTRAINT ask_of_a_claim FOREIGN KEY (draw, place) REFERENCES claims (draw, place),
    CONSTRAINT one_ask_per_link UNIQUE (draw, link_hash),
    CONSTRAINT ask_kinds CHECK (kind IN ('size', 'address')),
    CONSTRAINT ask_number_from_1 CHECK (n > 0),
    CONSTRAINT ask_link_hash_is_32_bytes CHECK (length(link_hash) = 32),
    CONSTRAINT replied_whole CHECK ((sealed_reply IS NULL) = (replied IS NULL))
);

-- What the sponsor said of a place's parcel, one after another. What the
-- sponsor wrote, and the parcel's number, lie sealed.
CREATE TABLE marks (
    draw         text   COLLATE "C" NOT NULL,
    place        bigint NOT NULL,
    n            bigint NOT NULL, -- from 1, without gaps
    kind         text   NOT NULL,
    sealed_words bytea  NOT NULL,
    at           bigint NOT NULL,

    CONSTRAINT marks_are_numbered PRIMARY KEY (draw, place, n),
    CONSTRAINT mark_of_a_claim FOREIGN KEY (draw, place) REFERENCES claims (draw, place),
    CONSTRAINT mark_kinds CHECK (kind IN ('in-stock', 'cant-have', 'ask-address', 'shipped', 'delivered')),
    CONSTRAINT mark_number_from_1 CHECK (n > 0)
);

-- The links of the sponsor's page. A revoked one stays, and opens nothing.
CREATE TABLE sponsor_links (
    draw        text   COLLATE "C" NOT NULL,
    link_hash   bytea  NOT NULL,
    sealed_link bytea  NOT NULL,
    made        bigint NOT NULL,
    revoked     bigint,

    CONSTRAINT one_sponsor_page_per_link PRIMARY KEY (link_hash),
    CONSTRAINT sponsor_link_of_a_giveaway FOREIGN KEY (draw) REFERENCES giveaways (id),
    CONSTRAINT sponsor_link_hash_is_32_bytes CHECK (length(link_hash) = 32)
);

-- One link of a giveaway opens the sponsor's page.
CREATE UNIQUE INDEX one_standing_sponsor_link ON sponsor_links (draw) WHERE revoked IS NULL;

-- When the sponsor's page was looked at.
CREATE TABLE sponsor_visits (
    draw text   COLLATE "C" NOT NULL,
    at   bigint NOT NULL,

    CONSTRAINT visit_of_a_giveaway FOREIGN KEY (draw) REFERENCES giveaways (id)
);

CREATE INDEX visits_by_time ON sponsor_visits (draw, at);
