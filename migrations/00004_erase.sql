-- +goose Up

-- When personal data was deleted: of a whole giveaway, once it has ended, or of
-- one ticket. What stays of an entry is what its receipt is made of, and by
-- which link its page opens; what stays of a claim are its link's hash and times.
ALTER TABLE giveaways ADD COLUMN erased bigint
    CONSTRAINT erased_after_the_end CHECK (erased IS NULL OR state IN ('drawn', 'cancelled'));

ALTER TABLE entries ADD COLUMN erased bigint
    CONSTRAINT erased_entry_bears_nothing CHECK (erased IS NULL OR (key = ticket COLLATE "C" AND typed = '' AND size_system = ''
        AND size = '' AND size_width = '' AND live = '' AND live_state = '' AND ship = '' AND ship_state = '' AND NOT friend
        AND name = '' AND age = '' AND NOT step AND answers = '{}'));

ALTER TABLE claims ADD COLUMN erased bigint
    CONSTRAINT erased_claim_bears_nothing CHECK (erased IS NULL OR (length(sealed_link) = 0
        AND (sealed_answer IS NULL OR length(sealed_answer) = 0)));
