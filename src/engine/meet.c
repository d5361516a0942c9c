/* meet.c - who meets whom in one lumen, and what is on file about it.
 *
 * When something begins to flow on a line, at t, it meets
 *  - everything else that flows on the line at t: a concurrent and what the line carries, two concurrents;
 *  - what is left in the line: everything that flowed on it in the last second before t in which anything did. So a dose meets the
 *    primary that it interrupts, its flush meets the dose, and the primary that goes on meets the flush, or, where there is no
 *    flush, the dose; and an order meets the one before it on the line, however long the line was still. Less than a second of flow
 *    is not counted, and any flow is taken to have rinsed the line. A line that was taken out and placed anew is empty.
 * Lumens of one catheter do not meet. What is in one bag has met, so it is held against what is kept apart, too.
 *
 * A bag goes by its names: drug, fluid and additives, as apart.csv has them. Two names are to be kept apart where a row says so.
 * A verdict is asked for where one of the two is a drug (known or not), an additive that is no salt, or nutrition, but
 *  - not for the fluid that carries a drug: the pharmacy chose it; and
 *  - not for what one of the two bags holds already, in whatever strength: a drug in sodium chloride 0.9 % may be flushed with it.
 * Plain fluids and salts ask for nothing among themselves, unless one brings calcium and the other phosphate or bicarbonate. All of this
 * is told once for two names, at the first second; blood and what falls out with calcium, once for two bags. In a feeding tube only what
 * is to be kept apart is told.
 */
#include "meet.h"

#include <stdlib.h>
#include <string.h>

#include "bytes.h"
#include "history.h"

/* ---- names ---- */

typedef struct name {
    const char *key, *words;
    bool asks;    /* no plain fluid and no salt */
    bool carries; /* a fluid with a drug in it */
} name;

/* What flows: a bag of an order, or the flush of its doses. */
typedef struct content {
    const dd_mixture *mixture;
    const dd_composition *has;
    bool blood, flush;
    int16_t order;
} content;

#define NAMES_MOST 256 /* a drug, a fluid, and additions, of which a byte says how many there are */

/* Of a drug that is a salt, `kcl 20 mmol in nacl-0.9`, the amount stands among the additions, under the same key. */
static bool is_salt(const dd_mixture *m)
{
    return m->addition_count > 0 && m->additions[0].key == m->drug && m->additions[0].additive >= 0;
}

static size_t names_of(const dd_plan *plan, const dd_mixture *m, name out[NAMES_MOST + 2])
{
    size_t n = 0;
    bool drug = m->drug && !is_salt(m);
    if (drug)
        out[n++] = (name){.key = m->drug, .words = m->drug, .asks = true};
    if (m->fluid >= 0) {
        const dd_fluid *f = &plan->fluids[m->fluid];
        out[n++] = (name){.key = f->key, .words = f->words, .asks = f->category == DD_CAT_NUTRITION, .carries = drug};
    }
    for (uint8_t i = 0; i < m->addition_count; i++)
        out[n++] = (name){.key = m->additions[i].key, .words = m->additions[i].words, .asks = m->additions[i].additive < 0};
    return n;
}

/* The letters of a key that says one substance and how strong it is: `nacl`, `nacl-0.9`, `glucose-5-us`. 0: it says more than that. */
static size_t substance(const char *key)
{
    size_t letters = strspn(key, "abcdefghijklmnopqrstuvwxyz");
    const char *rest = key + letters;
    if (rest[0] == '-' && rest[1] >= '0' && rest[1] <= '9')
        rest += 1 + strspn(rest + 1, "0123456789.");
    return *rest == '\0' || strcmp(rest, "-us") == 0 ? letters : 0;
}

/* Whether one of the names is this one, or the same substance in another strength. */
static bool has_name(const name *names, size_t count, const char *key)
{
    size_t length = substance(key);
    for (size_t i = 0; i < count; i++)
        if (strcmp(names[i].key, key) == 0 || (length && substance(names[i].key) == length && memcmp(names[i].key, key, length) == 0))
            return true;
    return false;
}

static const dd_pair *find_pair(const dd_plan *plan, const char *a, const char *b)
{
    if (strcmp(a, b) > 0) {
        const char *swap = a;
        a = b;
        b = swap;
    }
    size_t low = 0, high = plan->pair_count;
    while (low < high) {
        size_t mid = low + (high - low) / 2;
        int c = strcmp(plan->pairs[mid].a, a);
        c = c ? c : strcmp(plan->pairs[mid].b, b);
        if (c == 0)
            return &plan->pairs[mid];
        if (c < 0)
            low = mid + 1;
        else
            high = mid;
    }
    return NULL;
}

/* ---- the search ---- */

typedef struct told { const char *a, *b; } told;

/* What has been on a line: flows that may still be in it. */
typedef struct lumen {
    size_t *near;  /* indexes of flows that end at `rinsed` or later */
    size_t count, room;
    dd_moment at;     /* the last second in which something began */
    dd_moment rinsed; /* what had ended by then is out of the line */
    dd_moment latest; /* the latest end of all so far; DD_NEVER: none */
} lumen;

typedef struct meet {
    dd_work *w;
    lumen *lumens;
    uint64_t *seen;  /* a table of pairs of blends + 1, its room a power of two */
    size_t seen_count, seen_room;
    told *told;
    size_t told_count, told_room;
} meet;

static uint64_t spread(uint64_t key)
{
    key *= UINT64_C(0x9e3779b97f4a7c15);
    return key ^ key >> 32;
}

static void put(uint64_t *table, size_t room, uint64_t key)
{
    size_t i = spread(key) & (room - 1);
    while (table[i])
        i = (i + 1) & (room - 1);
    table[i] = key;
}

/* Notes a pair of blends. *is_new: it was not noted before. */
static bool see(meet *m, uint32_t a, uint32_t b, bool *is_new)
{
    uint64_t key = ((uint64_t)(a < b ? a : b) << 32 | (a < b ? b : a)) + 1;
    if (m->seen_count * 2 >= m->seen_room) {
        size_t room = m->seen_room ? m->seen_room * 2 : 16;
        uint64_t *table = dd_arena_take_many(m->w->arena, room, sizeof *table);
        if (!table)
            return false;
        for (size_t i = 0; i < m->seen_room; i++)
            if (m->seen[i])
                put(table, room, m->seen[i]);
        m->seen = table;
        m->seen_room = room;
    }
    for (size_t i = spread(key) & (m->seen_room - 1); m->seen[i]; i = (i + 1) & (m->seen_room - 1))
        if (m->seen[i] == key) {
            *is_new = false;
            return true;
        }
    put(m->seen, m->seen_room, key);
    m->seen_count++;
    *is_new = true;
    return true;
}

/* Notes two names. *is_new: they were not told before. */
static bool tell(meet *m, const name *a, const name *b, bool *is_new)
{
    *is_new = true;
    for (size_t i = 0; i < m->told_count && *is_new; i++)
        *is_new = !((strcmp(m->told[i].a, a->key) == 0 && strcmp(m->told[i].b, b->key) == 0)
            || (strcmp(m->told[i].a, b->key) == 0 && strcmp(m->told[i].b, a->key) == 0));
    if (!*is_new)
        return true;
    if (!dd_arena_room(m->w->arena, &m->told, &m->told_room, m->told_count, sizeof *m->told))
        return false;
    m->told[m->told_count++] = (told){a->key, b->key};
    return true;
}

static void add_names(dd_bytes *out, const char *a, const char *b)
{
    dd_bytes_text(out, out->length ? "; " : "");
    dd_bytes_text(out, a);
    dd_bytes_text(out, " and ");
    dd_bytes_text(out, b);
}

static bool make(meet *m, dd_finding_code code, const content *c, int line, dd_moment at, const dd_bytes *names, const char *source)
{
    dd_finding *f = dd_work_finding(m->w, code, c->order, line, at);
    char *word = f && !names->failed ? dd_arena_text(m->w->arena, names->data, names->length) : NULL;
    if (!word)
        return false;
    f->word = word;
    f->source = source;
    return true;
}

/* ---- verdicts ---- */

static bool brings(int64_t nmol_per_l)
{
    return nmol_per_l > 0; /* DD_UNKNOWN is below */
}

/* Calcium falls out with phosphate and with bicarbonate. */
static bool reacts(const dd_composition *a, const dd_composition *b)
{
    return (brings(a->calcium) && (brings(b->phosphate) || brings(b->bicarbonate))) || (brings(b->calcium) && (brings(a->phosphate) || brings(a->bicarbonate)));
}

/* Each two names that a row keeps apart, told once; `within` one bag, once for each kind of bag. */
static bool find_apart(meet *m, const content *c, const name *a, size_t a_count, const name *b, size_t b_count, int line, dd_moment at)
{
    bool good = true, within = a == b;
    for (size_t i = 0; i < a_count && good && m->w->plan->pair_count; i++)
        for (size_t k = within ? i + 1 : 0; k < b_count && good; k++) {
            const dd_pair *pair = strcmp(a[i].key, b[k].key) ? find_pair(m->w->plan, a[i].key, b[k].key) : NULL;
            bool is_new = true;
            if (!pair || pair->together)
                continue;
            good = within || tell(m, &a[i], &b[k], &is_new);
            if (!good || !is_new)
                continue;
            dd_bytes names = DD_BYTES(4096);
            add_names(&names, a[i].words, b[k].words);
            good = make(m, DD_FINDING_APART, c, line, at, &names, pair->source);
            dd_bytes_free(&names);
        }
    return good;
}

/* Two plain fluids that may fall out together: on file where any two of their names have a verdict. */
static bool is_settled(const dd_plan *plan, const name *a, size_t a_count, const name *b, size_t b_count)
{
    for (size_t i = 0; i < a_count; i++)
        for (size_t k = 0; k < b_count; k++)
            if (find_pair(plan, a[i].key, b[k].key))
                return true;
    return false;
}

static bool find_missing(meet *m, const content *c, const content *d, const name *a, size_t a_count, const name *b, size_t b_count, int line, dd_moment at)
{
    dd_bytes names = DD_BYTES(16384);
    bool good = true, asked = false, is_new;
    for (size_t i = 0; i < a_count && good; i++)
        for (size_t k = 0; k < b_count && good; k++) {
            if ((!a[i].asks && !b[k].asks) || a[i].carries || b[k].carries || has_name(a, a_count, b[k].key) || has_name(b, b_count, a[i].key))
                continue;
            asked = true;
            if (find_pair(m->w->plan, a[i].key, b[k].key))
                continue;
            good = tell(m, &a[i], &b[k], &is_new);
            if (good && is_new)
                add_names(&names, a[i].words, b[k].words);
        }
    if (good && !asked && reacts(c->has, d->has) && !is_settled(m->w->plan, a, a_count, b, b_count))
        add_names(&names, c->mixture->words, d->mixture->words);
    if (good && names.length)
        good = make(m, DD_FINDING_PAIR_NOT_ON_FILE, c, line, at, &names, NULL);
    dd_bytes_free(&names);
    return good;
}

/* The one fluid that blood may meet. */
static bool is_saline(const dd_plan *plan, const content *c)
{
    const dd_mixture *m = c->mixture;
    return !m->drug && m->addition_count == 0 && m->fluid >= 0 && strcmp(plan->fluids[m->fluid].key, "nacl-0.9") == 0;
}

static bool find_company(meet *m, const content *blood, const content *other, int line, dd_moment at)
{
    dd_finding *f = is_saline(m->w->plan, other) ? NULL : dd_work_finding(m->w, DD_FINDING_BLOOD_COMPANY, blood->order, line, at);
    if (f)
        f->word = other->mixture->words;
    return f || is_saline(m->w->plan, other);
}

/* c begins to flow and meets d. The finding is about the order with a drug; where both or neither has one, about c's. */
static bool find_between(meet *m, const content *c, const content *d, int line, dd_moment at)
{
    name a[NAMES_MOST + 2], b[NAMES_MOST + 2];
    bool is_new;
    if (c->mixture->blend == d->mixture->blend)
        return true;
    if (!see(m, c->mixture->blend, d->mixture->blend, &is_new))
        return false;
    if (!is_new)
        return true;
    if (c->blood || d->blood)
        return c->blood ? find_company(m, c, d, line, at) : find_company(m, d, c, line, at);
    if (c->flush || (d->mixture->drug && !c->mixture->drug && !d->flush)) {
        const content *swap = c;
        c = d;
        d = swap;
    }
    size_t a_count = names_of(m->w->plan, c->mixture, a), b_count = names_of(m->w->plan, d->mixture, b);
    return find_apart(m, c, a, a_count, b, b_count, line, at)
        && (m->w->patient->lines[line].kind == DD_KIND_ENTERAL || find_missing(m, c, d, a, a_count, b, b_count, line, at));
}

static bool find_within(meet *m, const dd_use *use)
{
    name a[NAMES_MOST + 2];
    const dd_order *o = &m->w->patient->orders[use->order];
    const content c = {.mixture = o->mixture, .has = o->has, .order = use->order};
    bool is_new;
    if (m->w->plan->pair_count == 0)
        return true;
    if (!see(m, o->mixture->blend, o->mixture->blend, &is_new))
        return false;
    size_t count = is_new ? names_of(m->w->plan, o->mixture, a) : 0;
    return find_apart(m, &c, a, count, a, count, use->line, use->at);
}

/* ---- flows ---- */

static content content_of(const dd_work *w, const dd_flow *f)
{
    const dd_order *o = &w->patient->orders[f->order];
    content c = {.mixture = o->mixture, .has = o->has, .order = f->order, .flush = f->part == DD_PART_FLUSH};
    if (c.flush && o->flush) {
        c.mixture = o->flush;
        c.has = &w->plan->fluids[o->flush->fluid].has;
    }
    c.blood = (!c.flush && o->category == DD_CAT_BLOOD) || (c.mixture->fluid >= 0 && w->plan->fluids[c.mixture->fluid].category == DD_CAT_BLOOD);
    return c;
}

/* Whether the line was taken out between the end of one flow and the beginning of the next. */
static bool was_out(const dd_work *w, int line, dd_moment from, dd_moment to)
{
    for (size_t i = 0; w->history && i < w->history->off_count[line]; i++)
        if (w->history->off[line][i].from >= from && w->history->off[line][i].from <= to)
            return true;
    return false;
}

/* A new second on this line: what is left in it is what flowed in the last second before. */
static void turn(const dd_work *w, lumen *l, dd_moment at)
{
    size_t kept = 0;
    l->at = at;
    l->rinsed = l->latest != DD_NEVER && l->latest < at ? l->latest : at;
    for (size_t i = 0; i < l->count; i++)
        if (w->flows[l->near[i]].to >= l->rinsed)
            l->near[kept++] = l->near[i];
    l->count = kept;
}

static bool pass_flow(meet *m, size_t index)
{
    const dd_flow *f = &m->w->flows[index];
    lumen *l = &m->lumens[f->line];
    const content c = content_of(m->w, f);
    if (f->from > l->at)
        turn(m->w, l, f->from);
    for (size_t i = 0; i < l->count; i++) {
        const dd_flow *g = &m->w->flows[l->near[i]];
        if (g->to < f->from && was_out(m->w, f->line, g->to, f->from))
            continue;
        const content d = content_of(m->w, g);
        if (!find_between(m, &c, &d, f->line, f->from))
            return false;
    }
    if (!dd_arena_room(m->w->arena, &l->near, &l->room, l->count, sizeof *l->near))
        return false;
    l->near[l->count++] = index;
    if (l->latest == DD_NEVER || f->to > l->latest)
        l->latest = f->to;
    return true;
}

dd_status dd_meet_find(dd_work *w, const dd_use *uses, size_t count)
{
    meet m = {.w = w, .lumens = dd_arena_take_many(w->arena, (size_t)w->patient->line_count + 1, sizeof *m.lumens)};
    if (!m.lumens)
        return DD_NO_MEMORY;
    for (int i = 0; i < w->patient->line_count; i++)
        m.lumens[i].latest = m.lumens[i].at = DD_NEVER;
    for (size_t i = 0; i < w->flow_count; i++)
        if (w->flows[i].given.u > 0 && !pass_flow(&m, i))
            return DD_NO_MEMORY;
    for (size_t i = 0; i < count; i++)
        if (uses[i].first && !find_within(&m, &uses[i]))
            return DD_NO_MEMORY;
    return DD_OK;
}
