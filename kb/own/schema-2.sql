-- The formula that was measured, as text, so that a later model can predict it again.
ALTER TABLE measurement ADD COLUMN recipe TEXT NOT NULL DEFAULT '';
-- What stands on the user's data sheet was never seen by us, so it is not called published.
UPDATE composition SET evidence = 'data sheet' WHERE evidence = 'published';
UPDATE play SET evidence = 'data sheet' WHERE evidence = 'published';
UPDATE fact SET evidence = 'data sheet' WHERE evidence = 'published';
UPDATE edge SET evidence = 'data sheet' WHERE evidence = 'published';
UPDATE limit_rule SET evidence = 'data sheet' WHERE evidence = 'published';
