-- What a transcribed report has beside a clinician's own evaluation.

alter table evaluation add column report_kind text not null default '';

-- An acuity as the paper states it, where the paper leaves out the eye, what was worn, the distance or how it is
-- written: kept as text, never a figure. A whole row is one of the table acuity.
create table stated_acuity (
    id text primary key,
    evaluation_id text not null references evaluation (id) on delete cascade,
    student_id text not null references student (id),
    position bigint not null,
    as_recorded text not null,
    eye text not null default '',
    correction text not null default '',
    distance text not null default '',
    note text not null default ''
);
create index stated_acuity_evaluation on stated_acuity (evaluation_id);
