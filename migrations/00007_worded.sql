-- +goose Up

-- How often a name that the stage may be showing was changed: its pages are made
-- anew then, while the show's version, which presses name, stays.
ALTER TABLE shows ADD COLUMN worded bigint NOT NULL DEFAULT 0
    CONSTRAINT worded_counts CHECK (worded >= 0);
