-- +goose Up

-- When a claim's link was replaced after its letter had gone out: the link in
-- that letter opens nothing, so the letter has to go out again. Null once it has.
ALTER TABLE claims ADD COLUMN renewed bigint
    CONSTRAINT renewed_after_noticed CHECK (renewed IS NULL OR noticed IS NOT NULL);
