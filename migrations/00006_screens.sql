-- +goose Up

-- When a screen that a key opened was last heard of, so that the desk of every
-- server knows which are there.
ALTER TABLE show_keys ADD COLUMN seen bigint
    CONSTRAINT seen_after_made CHECK (seen IS NULL OR seen > 0);
