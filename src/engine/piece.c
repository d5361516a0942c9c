#include "piece.h"

/* The last second of piece i; for the last piece, far beyond every plan. */
#define FOR_EVER ((dd_moment)1 << 60)

static dd_moment last_second(const dd_pieces *f, size_t i)
{
    return i + 1 < f->count ? f->at[i + 1].from - 1 : FOR_EVER;
}

static dd_int128 value_at(const dd_piece *p, dd_moment t)
{
    return p->value + p->slope * (t - p->from);
}

bool dd_piece_add(dd_arena *arena, dd_pieces *f, dd_moment from, dd_int128 value, dd_int128 slope)
{
    if (value >= DD_PIECE_NEVER) {
        value = DD_PIECE_NEVER;
        slope = 0;
    }
    if (f->count) {
        dd_piece *last = &f->at[f->count - 1];
        if (last->slope == slope && value_at(last, from) == value)
            return true;
    }
    if (!dd_arena_room(arena, &f->at, &f->room, f->count, sizeof *f->at))
        return false;
    f->at[f->count++] = (dd_piece){from, value, slope};
    return true;
}

static size_t piece_of(const dd_pieces *f, dd_moment t)
{
    size_t low = 0, high = f->count;
    while (high - low > 1) {
        size_t middle = low + (high - low) / 2;
        if (f->at[middle].from <= t)
            low = middle;
        else
            high = middle;
    }
    return low;
}

dd_int128 dd_piece_at(const dd_pieces *f, dd_moment t)
{
    return value_at(&f->at[piece_of(f, t)], t);
}

bool dd_piece_sum(dd_arena *arena, const dd_pieces *f, const dd_pieces *g, dd_moment shift, dd_pieces *out)
{
    *out = (dd_pieces){0};
    dd_moment t = f->at[0].from;
    size_t i = 0, j = piece_of(g, t + shift);
    for (;;) {
        const dd_piece *a = &f->at[i], *b = &g->at[j];
        dd_int128 va = value_at(a, t), vb = value_at(b, t + shift);
        bool never = va >= DD_PIECE_NEVER || vb >= DD_PIECE_NEVER;
        if (!dd_piece_add(arena, out, t, never ? DD_PIECE_NEVER : va + vb, never ? 0 : a->slope + b->slope))
            return false;
        dd_moment next_a = last_second(f, i) + 1, next_b = last_second(g, j) + 1 - shift;
        bool more_a = i + 1 < f->count, more_b = j + 1 < g->count;
        if (!more_a && !more_b)
            return true;
        t = !more_b || (more_a && next_a < next_b) ? next_a : next_b;
        if (more_a && next_a == t)
            i++;
        if (more_b && next_b == t)
            j++;
    }
}

/* Adds f on [from, to] cut at `most`: where a rising straight line passes `most` it stays there. */
static bool add_cut(dd_arena *arena, dd_pieces *out, dd_moment from, dd_moment to, dd_int128 value, dd_int128 slope, dd_int128 most)
{
    if (value >= most)
        return dd_piece_add(arena, out, from, most, 0);
    if (!dd_piece_add(arena, out, from, value, slope))
        return false;
    if (slope <= 0)
        return true;
    dd_int128 seconds = (most - value) / slope; /* the last second at which it is still at or below `most` */
    if (seconds >= (dd_int128)to - from)
        return true;
    return dd_piece_add(arena, out, from + (dd_moment)seconds + 1, most, 0);
}

/* From the right: `most` is the least value found so far. The result is built backwards as a list of (from, to, value, slope)
 * and then laid out forwards. */
bool dd_piece_least_from(dd_arena *arena, const dd_pieces *f, dd_pieces *out)
{
    *out = (dd_pieces){0};
    dd_int128 *least = dd_arena_take_many(arena, f->count, sizeof *least); /* least value right of piece i */
    if (!least)
        return false;
    dd_int128 most = DD_PIECE_NEVER;
    for (size_t i = f->count; i-- > 0;) {
        least[i] = most;
        const dd_piece *p = &f->at[i];
        dd_int128 here = p->slope < 0 ? value_at(p, last_second(f, i)) : p->value;
        if (here < most)
            most = here;
    }
    for (size_t i = 0; i < f->count; i++) {
        const dd_piece *p = &f->at[i];
        dd_moment to = last_second(f, i);
        bool fine = p->slope < 0 ? add_cut(arena, out, p->from, to, value_at(p, to), 0, least[i])
                                 : add_cut(arena, out, p->from, to, p->value, p->slope, least[i]);
        if (!fine)
            return false;
    }
    return true;
}

bool dd_piece_smaller(dd_arena *arena, const dd_pieces *f, const dd_pieces *g, dd_pieces *out)
{
    *out = (dd_pieces){0};
    dd_moment t = f->at[0].from;
    size_t i = 0, j = 0;
    for (;;) {
        dd_moment end_f = last_second(f, i), end_g = last_second(g, j), to = end_f < end_g ? end_f : end_g;
        dd_int128 vf = value_at(&f->at[i], t), vg = value_at(&g->at[j], t), kf = f->at[i].slope, kg = g->at[j].slope;
        bool f_first = vf < vg || (vf == vg && kf <= kg);
        dd_int128 v = f_first ? vf : vg, k = f_first ? kf : kg, other_v = f_first ? vg : vf, other_k = f_first ? kg : kf;
        if (!dd_piece_add(arena, out, t, v, k))
            return false;
        if (k > other_k) { /* the other one, falling behind now, may become the smaller: from the first second at which it is below */
            dd_int128 seconds = (other_v - v) / (k - other_k) + 1;
            if (seconds <= (dd_int128)to - t) {
                dd_moment cross = t + (dd_moment)seconds;
                if (!dd_piece_add(arena, out, cross, other_v + other_k * seconds, other_k))
                    return false;
            }
        }
        if (to == FOR_EVER)
            return true;
        t = to + 1;
        if (end_f == to)
            i++;
        if (end_g == to)
            j++;
    }
}

dd_moment dd_piece_first(const dd_pieces *f, dd_moment t, dd_int128 value)
{
    for (size_t i = piece_of(f, t); i < f->count; i++) {
        const dd_piece *p = &f->at[i];
        dd_moment from = p->from > t ? p->from : t, to = last_second(f, i);
        if (value_at(p, from) == value)
            return from;
        if (p->slope < 0 && value_at(p, to) == value)
            return to;
    }
    return DD_NEVER;
}
