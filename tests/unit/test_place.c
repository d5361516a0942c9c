/* test_place.c - dose times against brute force: every way to start a few doses, second by second, compared as the rules say.
 * The rules are those in place.h; nothing of the search is used here. */
#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

#include "place.h"

#define MOST 4
#define HORIZON 40

typedef struct brute {
    const dd_dose *doses; /* sorted by due, order, occurrence */
    size_t count;
    const dd_gap_of_line *blocked;
    size_t blocked_count;
    int start[MOST], best[MOST];
    long best_cost[3];
    bool found;
} brute;

static uint32_t state = 1;

static uint32_t next_random(uint32_t below)
{
    state = state * 1664525u + 1013904223u;
    return (state >> 8) % below;
}

static bool allowed(const brute *b)
{
    for (size_t i = 0; i < b->count; i++) {
        long s = b->start[i], e = s + b->doses[i].length;
        if (s < b->doses[i].earliest || s < b->doses[i].due - b->doses[i].window)
            return false;
        for (size_t p = 0; p < b->blocked_count; p++)
            if (s < b->blocked[p].to && e > b->blocked[p].from)
                return false;
        for (size_t k = i + 1; k < b->count; k++) {
            const dd_dose *first = &b->doses[i], *second = &b->doses[k];
            if (s < b->start[k] + second->length && b->start[k] < e)
                return false;
            bool in_order = first->order == second->order || first->due + first->window < second->due - second->window;
            if (in_order && s > b->start[k])
                return false;
        }
    }
    return true;
}

/* The dose that starts as number `rank`: no two start in one second. */
static size_t number(const brute *b, const int *start, size_t rank)
{
    for (size_t i = 0; i < b->count; i++) {
        size_t before = 0;
        for (size_t k = 0; k < b->count; k++)
            before += start[k] < start[i];
        if (before == rank)
            return i;
    }
    return 0;
}

/* The doses in the order in which they start: earlier start, then earlier due, then earlier row. */
static int compare_ties(const brute *b, const int *x, const int *y)
{
    for (size_t rank = 0; rank < b->count; rank++) {
        size_t i = number(b, x, rank), k = number(b, y, rank);
        if (x[i] != y[k])
            return x[i] < y[k] ? -1 : 1;
        if (b->doses[i].due != b->doses[k].due)
            return b->doses[i].due < b->doses[k].due ? -1 : 1;
        if (b->doses[i].order != b->doses[k].order)
            return b->doses[i].order < b->doses[k].order ? -1 : 1;
    }
    return 0;
}

static void consider(brute *b)
{
    if (!allowed(b))
        return;
    long cost[3] = {0, 0, 0};
    for (size_t i = 0; i < b->count; i++) {
        long away = b->start[i] - b->doses[i].due;
        cost[0] += away > b->doses[i].window;
        cost[1] += away < 0 ? -away : away;
        cost[2] += away < 0 ? -away : 0;
    }
    int better = -1;
    for (int k = 0; k < 3 && b->found; k++)
        if (cost[k] != b->best_cost[k]) {
            better = cost[k] < b->best_cost[k] ? -1 : 1;
            break;
        } else if (k == 2) {
            better = compare_ties(b, b->start, b->best);
        }
    if (better < 0) {
        memcpy(b->best, b->start, sizeof b->best);
        memcpy(b->best_cost, cost, sizeof cost);
        b->found = true;
    }
}

static void try_all(brute *b, size_t i)
{
    if (i >= b->count || i >= MOST) {
        consider(b);
        return;
    }
    for (b->start[i] = 0; b->start[i] < HORIZON; b->start[i]++)
        try_all(b, i + 1);
}

static int by_due(const void *left, const void *right)
{
    const dd_dose *a = left, *b = right;
    return a->due != b->due ? (a->due < b->due ? -1 : 1) : a->order - b->order;
}

Test(place, equals_every_way_tried)
{
    for (int round = 0; round < 400; round++) {
        dd_dose doses[MOST], sorted[MOST];
        size_t count = 2 + next_random(round % 8 == 0 ? 3 : 2);
        int begins = (int)next_random(4);
        for (size_t i = 0; i < count; i++)
            doses[i] = (dd_dose){.due = begins + next_random(12), .window = next_random(8), .length = 1 + next_random(5), .earliest = begins,
                .order = (int32_t)next_random(3)};
        for (size_t i = 0; i < count; i++) /* occurrences of one order have due times of their own */
            for (size_t k = 0; k < i; k++)
                if (doses[i].order == doses[k].order && doses[i].due == doses[k].due)
                    doses[i].order = (int32_t)(3 + i);
        dd_gap_of_line blocked[2];
        size_t blocked_count = next_random(3);
        for (size_t i = 0; i < blocked_count; i++) {
            blocked[i].from = (i ? blocked[0].to + 1 : 0) + next_random(8);
            blocked[i].to = blocked[i].from + 1 + next_random(4);
        }
        memcpy(sorted, doses, sizeof sorted);
        qsort(sorted, count, sizeof *sorted, by_due);
        brute b = {.doses = sorted, .count = count, .blocked = blocked, .blocked_count = blocked_count};
        try_all(&b, 0);
        cr_assert(b.found);
        bool in_order;
        cr_assert_eq(dd_place_doses(doses, count, blocked, blocked_count, &in_order), DD_OK);
        cr_assert_not(in_order);
        for (size_t i = 0; i < count; i++)
            cr_assert_eq(doses[i].start, b.best[i], "round %d, dose %zu: due %ld window %ld length %ld: %ld, brute force %d", round, i,
                (long)doses[i].due, (long)doses[i].window, (long)doses[i].length, (long)doses[i].start, b.best[i]);
    }
}

/* Fifteen doses due in one second: more than may be tried in every order, so they go in order of their rows, one after the other,
 * as close to their time as can be, and it is said. */
Test(place, too_many_at_once_go_in_order)
{
    dd_dose doses[15];
    for (int i = 0; i < 15; i++)
        doses[i] = (dd_dose){.due = 10000, .window = 3600, .length = 100, .earliest = 0, .order = i};
    bool in_order;
    cr_assert_eq(dd_place_doses(doses, 15, NULL, 0, &in_order), DD_OK);
    cr_assert(in_order);
    for (int i = 0; i < 15; i++) {
        cr_assert_eq(doses[i].order, i);
        cr_assert_eq(doses[i].start, 10000 - 700 + 100 * i);
    }
}

/* Fourteen are still tried in every order; alike as they are, rows decide. */
Test(place, fourteen_at_once_are_exact)
{
    dd_dose doses[14];
    for (int i = 0; i < 14; i++)
        doses[i] = (dd_dose){.due = 10000, .window = 3600, .length = 100, .earliest = 0, .order = i};
    bool in_order;
    cr_assert_eq(dd_place_doses(doses, 14, NULL, 0, &in_order), DD_OK);
    cr_assert_not(in_order);
    for (int i = 0; i < 14; i++)
        cr_assert_eq(doses[i].start, 10000 - 600 + 100 * i, "dose %d: %ld", i, (long)doses[i].start);
}
