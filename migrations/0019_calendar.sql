-- A feed of dates for a calendar program: its secret address is stored as a hash,
-- and one that was taken back never answers again.

create table calendar_feed (
    id text primary key,
    account_id text not null references account (id),
    token_hash text not null unique,
    made_at text not null,
    used_at text,
    revoked_at text
);
create unique index calendar_feed_open on calendar_feed (account_id) where revoked_at is null;
