-- The formula that was measured, as text, so that a later model can predict it again.
ALTER TABLE measurement ADD COLUMN recipe TEXT NOT NULL DEFAULT '';
