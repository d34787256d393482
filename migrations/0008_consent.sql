-- Consents given on paper and in person, emergencies that end at an instant, and a
-- red flag cleared on an eye doctor's written note.

-- An emergency ends at an instant, 24 hours after it was opened; a consent by its days.
alter table consent add column expires_at text;
-- Who signed: a parent or guardian, or the student once of age.
alter table consent add column signer_kind text not null default 'parent_or_guardian';
-- The day on the paper, or the day it was given in person; none, the day of signed_at.
alter table consent add column signed_on text;
-- When the documents it covers were sent; none, it has not started or nobody looked since.
alter table consent add column documents_sent_at text;
-- A withdrawal that was told or written, and by whom; empty, withdrawn on screen.
alter table consent add column withdrawn_how text not null default '';
alter table consent add column withdrawn_name text not null default '';
alter table consent add column withdrawn_witness text not null default '';

-- The eye doctor's written note on which a records officer cleared the flag; its
-- scan hangs on the flag.
alter table flag add column note_doctor text not null default '';
alter table flag add column note_on text;
