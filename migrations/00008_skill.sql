-- +goose Up

-- The skill question that rules put to a winner who lives in Canada: the latest
-- try. Its sum comes from the claim's link; what was answered is not kept, only
-- whether it was right, and in time.
ALTER TABLE claims ADD COLUMN skill_again bigint NOT NULL DEFAULT 0 -- how many more tries the creator gave
    CONSTRAINT skill_again_counts CHECK (skill_again >= 0 AND (erased IS NULL OR skill_again = 0));

ALTER TABLE claims ADD COLUMN skill_allowed bigint -- when the last of those was given
    CONSTRAINT skill_allowed_again CHECK ((skill_again = 0) = (skill_allowed IS NULL));

ALTER TABLE claims ADD COLUMN skill_shown bigint -- when the winner saw the sum
    CONSTRAINT erased_claim_has_no_skill CHECK (erased IS NULL OR skill_shown IS NULL);

ALTER TABLE claims ADD COLUMN skill_answered bigint
    CONSTRAINT skill_shown_before_answered CHECK (skill_answered IS NULL OR skill_shown IS NOT NULL);

ALTER TABLE claims ADD COLUMN skill_outcome text
    CONSTRAINT skill_outcomes CHECK (skill_outcome IN ('right', 'wrong', 'late'))
    CONSTRAINT skill_answered_whole CHECK ((skill_answered IS NULL) = (skill_outcome IS NULL));
