/* rounds.h - looks at sites, gathered into the rounds of each team: for a list of several beds. */
#ifndef DD_ROUNDS_H
#define DD_ROUNDS_H

#include "front.h"

typedef struct dd_rounds_look {
    const dd_task *task;
    const char *team; /* NULL: none */
    size_t patient;   /* of the view */
} dd_rounds_look;

typedef struct dd_rounds {
    dd_rounds_look *looks; /* once sorted: by time, team, patient and line; a round is a stretch of them */
    size_t count, room;
    size_t *told, told_count, told_room; /* per team: where the round begins whose sites were last listed one by one */
} dd_rounds;

DD_MUST_USE bool dd_rounds_add(dd_rounds *rounds, dd_arena *arena, dd_rounds_look look);
void dd_rounds_sort(dd_rounds *rounds);
size_t dd_rounds_end(const dd_rounds *rounds, size_t first); /* where the round that begins at `first` ends */
/* `bay1-bed1, bay1-bed2 x2, bay1-bed4 left-forearm`: the line is named where not all of the patient's are looked at. By patient and line. */
void dd_rounds_sites(dd_bytes *out, const dd_view *view, const dd_rounds_look *looks, size_t count);
/* `6 sites, 1 tube` */
void dd_rounds_count(dd_bytes *out, const dd_view *view, const dd_rounds_look *looks, size_t count);
/* The round that begins at `first`: whose sites, and what should be left in the gravity bags there. Rounds come in order. */
void dd_rounds_write(dd_rounds *rounds, dd_front *front, size_t first);

#endif
