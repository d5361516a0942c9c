/* piece.h - functions of time that are straight between whole seconds: the costs that dose placing adds and compares.
 *
 * A function is a list of pieces in rising order; piece i is value + slope x (t - from) for the whole seconds from its
 * `from` to the second before the next piece, the last one for ever. Before the first piece it is not defined and never
 * asked for. Costs are packed into one 128-bit number in order of importance (see place.c); DD_PIECE_NEVER stands for
 * "not allowed" and keeps slope 0. */
#ifndef DD_PIECE_H
#define DD_PIECE_H

#include "arena.h"
#include "daydrip/moment.h"
#include "daydrip/quantity.h"

#define DD_PIECE_NEVER ((dd_int128)1 << 120)

typedef struct dd_piece {
    dd_moment from;
    dd_int128 value, slope;
} dd_piece;

typedef struct dd_pieces {
    dd_piece *at;
    size_t count, room;
} dd_pieces;

/* Adds a piece behind the last; one that goes on in the same straight line is joined. False: no memory. */
DD_MUST_USE bool dd_piece_add(dd_arena *arena, dd_pieces *f, dd_moment from, dd_int128 value, dd_int128 slope);
/* out(t) = f(t) + g(t + shift), from f's beginning on. */
DD_MUST_USE bool dd_piece_sum(dd_arena *arena, const dd_pieces *f, const dd_pieces *g, dd_moment shift, dd_pieces *out);
/* out(t) = least f(s) for s >= t. f's last piece must not fall. */
DD_MUST_USE bool dd_piece_least_from(dd_arena *arena, const dd_pieces *f, dd_pieces *out);
/* out(t) = the smaller of f(t), g(t); both begin at the same time. */
DD_MUST_USE bool dd_piece_smaller(dd_arena *arena, const dd_pieces *f, const dd_pieces *g, dd_pieces *out);
dd_int128 dd_piece_at(const dd_pieces *f, dd_moment t);
/* The first s >= t with f(s) == value, where value is the least of f from t on; DD_NEVER if there is none. */
dd_moment dd_piece_first(const dd_pieces *f, dd_moment t, dd_int128 value);

#endif
