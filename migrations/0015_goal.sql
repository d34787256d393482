-- The acuity reserve of one student for one reading goal, in place of the site's:
-- the ratio of comfortable to threshold print. No reserve: the site's again. What
-- stood here before is kept in amendment.

create table reading_goal (
    student_id text not null references student (id),
    goal text not null check (goal in ('name_it', 'phrase', 'copy')),
    reserve double precision,
    typed text not null default '',
    -- Where the figure is from, in the words of whoever set it.
    source text not null default '',
    set_at text not null,
    set_by text not null references account (id),
    version bigint not null default 1,
    primary key (student_id, goal)
);
