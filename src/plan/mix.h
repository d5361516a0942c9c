/* mix.h - a mixture read apart from any order: what a litre and a bag of it hold, and which part of it brings what. */
#ifndef DD_MIX_H
#define DD_MIX_H

#include "catalogue.h"
#include "sink.h"

typedef struct dd_folder dd_folder;

/* The fluid, or one thing that is added to it. Amounts per litre: nmol, glucose ug, osmoles nOsm; denominator 0: not known. */
typedef struct dd_mix_part {
    const char *key;                /* as it is written in tables */
    const char *words;
    const dd_fluid *fluid;          /* NULL: something added */
    const dd_additive *additive;    /* NULL: the fluid, or nothing that the lists know */
    dd_quantity amount;             /* of what is added; unit NONE: not written */
    bool per_bag;                   /* the amount is for each bag */
    bool known;                     /* false: no fluid, additive or drug of the lists */
    bool counted;                   /* false: a drug, whose own salts are not known and not in the sums */
    const char *hint;               /* of one that is not known: its name with the nearest known one; NULL where it is */
    dd_ratio brings[DD_MEMBERS];
} dd_mix_part;

typedef struct dd_mix {
    const dd_mixture *mixture;
    const dd_mix_part *parts;       /* the fluid first where there is one */
    size_t part_count;
    int64_t bag_ul;                 /* DD_UNKNOWN: none was said */
    dd_ratio litre[DD_MEMBERS], bag[DD_MEMBERS]; /* as in a part; bag: only where there is one */
    dd_sink wrong;                  /* what kept it from being read, as messages about the cell */
} dd_mix;

typedef enum dd_mix_end { DD_MIX_READ, DD_MIX_WRONG, DD_MIX_NEEDS_BAG, DD_MIX_NO_MEMORY } dd_mix_end;

/* Reads `text` as the cell `fluid` of an order whose bag holds bag_ul. DD_MIX_WRONG: only `wrong` is set. DD_MIX_NEEDS_BAG: an
 * amount is for each bag and bag_ul is DD_UNKNOWN. All belongs to the folder. */
DD_MUST_USE dd_mix_end dd_mix_read(dd_folder *folder, const char *text, int64_t bag_ul, dd_mix *out);

#endif
