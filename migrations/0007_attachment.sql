-- Files that hang on another record: a scan of a paper report, of a consent, of an eye doctor's note.
-- The bytes lie in a folder beside the database, under the id; the name is text and never a path.

create table attachment (
    id text primary key,
    student_id text not null references student (id),
    parent_kind text not null check (parent_kind in ('transcription', 'consent', 'flag')),
    parent_id text not null,
    name text not null,
    media text not null check (media in ('application/pdf', 'image/jpeg', 'image/png')),
    bytes bigint not null,
    sha256 text not null,
    stored_at text not null,
    entered_by text not null references account (id)
);
create index attachment_parent on attachment (parent_kind, parent_id);
create index attachment_student on attachment (student_id);
