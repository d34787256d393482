-- Where the seats of a room stand, for the room plan. All of it may be left open:
-- a room without it is a room with one seat, as before.

alter table seat add column seat_rows bigint;
alter table seat add column row_seats bigint;
-- From the eyes of the first row straight to the board, from row to row, and from
-- seat to seat; as typed beside the metres.
alter table seat add column first_row_typed text not null default '';
alter table seat add column first_row_m double precision;
alter table seat add column row_gap_typed text not null default '';
alter table seat add column row_gap_m double precision;
alter table seat add column seat_gap_typed text not null default '';
alter table seat add column seat_gap_m double precision;
-- Where the centre of the board lies beside the middle of the rows, as faced.
alter table seat add column board_aside_typed text not null default '';
alter table seat add column board_aside_m double precision;
alter table seat add column board_side text not null default '' check (board_side in ('', 'left', 'right'));
-- The usual seat among them: rows count from the board, seats from the left as faced.
alter table seat add column usual_row bigint;
alter table seat add column usual_seat bigint;
alter table seat add column window_side text not null default '' check (window_side in ('', 'left', 'right'));
