-- E-mail that says only that something is new: no student, no name, no health word.

create table mail_choice (
    account_id text primary key references account (id) on delete cascade,
    address text not null,
    often text not null check (often in ('never', 'daily', 'at_once')),
    -- What was entered up to this instant was told, or was not to be told.
    told_until text not null,
    version bigint not null default 1
);

-- The outbox: one letter to one account, kept until it is sent or given up.
create table mail (
    id text primary key,
    account_id text not null references account (id) on delete cascade,
    address text not null,
    entries bigint not null check (entries > 0),
    questions bigint not null default 0 check (questions >= 0),
    state text not null check (state in ('waiting', 'sending', 'sent', 'given_up', 'dropped')),
    tries bigint not null default 0,
    made_at text not null,
    next_at text not null,
    trouble text not null default '',
    ended_at text
);
create index mail_by_turn on mail (state, next_at);
create index mail_by_account on mail (account_id, state);
