/* allergy.c - an order meets an allergy where a word of its fluid, drug or additives is a word of the entry, or where both have a
 * word in one family of families.def. Words are compared whole, in any case; what says nothing of a substance (plain.def) is not
 * compared. Names of more than one word are joined by hyphens in tables and by blanks in what people write: both are tried. */
#include "allergy.h"

#include <string.h>

#include "bytes.h"
#include "catalogue.h"

typedef struct word { const char *text; size_t length; } word;

enum { WORDS_MOST = 256, JOINED_MOST = 3, NAME_MOST = 128 };
typedef struct words { word at[WORDS_MOST]; size_t count; } words;

/* ---- words ---- */

static char lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

/* Letters of other alphabets count, so that their words stay whole. */
static bool of_word(char c)
{
    return (c >= '0' && c <= '9') || (lower(c) >= 'a' && lower(c) <= 'z') || (unsigned char)c >= 0x80;
}

/* Whole words: what hyphens join stays together, `penicillin-g`. */
static void split(const char *text, size_t length, words *out)
{
    out->count = 0;
    for (size_t i = 0; i < length && out->count < WORDS_MOST;) {
        size_t from = i;
        while (i < length && (of_word(text[i]) || (text[i] == '-' && i > from && i + 1 < length && of_word(text[i + 1]))))
            i++;
        if (i > from)
            out->at[out->count++] = (word){text + from, i - from};
        else
            i++;
    }
}

/* The same without hyphens. */
static void split_fine(const words *whole, words *out)
{
    out->count = 0;
    for (size_t i = 0; i < whole->count; i++)
        for (size_t from = 0, to; from < whole->at[i].length && out->count < WORDS_MOST; from = to + 1) {
            const char *hyphen = memchr(whole->at[i].text + from, '-', whole->at[i].length - from);
            to = hyphen ? (size_t)(hyphen - whole->at[i].text) : whole->at[i].length;
            out->at[out->count++] = (word){whole->at[i].text + from, to - from};
        }
}

static bool same(word a, word b)
{
    if (a.length != b.length)
        return false;
    for (size_t i = 0; i < a.length; i++)
        if (lower(a.text[i]) != lower(b.text[i]))
            return false;
    return true;
}

static bool in_list(const char *const *lists, size_t count, word w)
{
    for (size_t i = 0; i < count; i++)
        for (const char *p = lists[i]; *p;) {
            size_t length = strcspn(p, " ");
            if (same(w, (word){p, length}))
                return true;
            p += length + (p[length] == ' ');
        }
    return false;
}

typedef enum kind { PLAIN_WORD, SALT_WORD, SUBSTANCE_WORD } kind;

static kind kind_of(word w)
{
    static const char *const plain[] = {
#define PLAIN(list) list,
#include "plain.def"
    };
    static const char *const salts[] = {
#define SALT(list) list,
#include "plain.def"
    };
    if (w.length < 2 || (w.text[0] >= '0' && w.text[0] <= '9') || in_list(plain, sizeof plain / sizeof *plain, w))
        return PLAIN_WORD;
    return in_list(salts, sizeof salts / sizeof *salts, w) ? SALT_WORD : SUBSTANCE_WORD;
}

bool dd_allergy_says_nothing(const char *allergies)
{
    static const char *const not_known[] = {"allergies allergy asked documented known not obtained recorded stated status unclear unknown"};
    words all;
    bool denies = false;
    split(allergies, strlen(allergies), &all);
    for (size_t i = 0; i < all.count; i++) {
        word w = all.at[i];
        if (!in_list(not_known, 1, w))
            return false;
        denies = denies || same(w, (word){"not", 3}) || same(w, (word){"unknown", 7}) || same(w, (word){"unclear", 7});
    }
    return denies || all.count == 0;
}

/* Up to three whole words from `first` on as one name. 0: it does not fit, or there are not so many. */
static size_t join(const words *w, size_t first, size_t count, char out[NAME_MOST])
{
    size_t length = 0;
    for (size_t i = first; i < first + count; i++) {
        if (i == w->count || length + w->at[i].length + 1 >= NAME_MOST)
            return 0;
        if (i > first)
            out[length++] = '-';
        memcpy(out + length, w->at[i].text, w->at[i].length);
        length += w->at[i].length;
    }
    return length;
}

/* ---- families ---- */

static const struct family { const char *name, *members; } families[] = {
#define FAMILY(name_, members_) {name_, members_},
#include "families.def"
};
#define FAMILIES (sizeof families / sizeof *families)
_Static_assert(FAMILIES <= 64, "a set of families is a 64-bit word");

/* The families that each of their words stands in, as sets of bits. */
typedef struct family_words {
    dd_keys keys;
    uint64_t *sets;
    uint32_t count;
    bool ready;
} family_words;

static bool add_member(dd_folder *f, family_words *all, const char *text, size_t length, size_t family)
{
    const dd_keys_slot *slot = dd_keys_like(&all->keys, 0, text, length);
    uint32_t at = slot ? slot->value : all->count;
    const char *key = slot ? text : dd_arena_text(f->arena, text, length); /* members stand in one text */
    if (!key || (!slot && !dd_keys_add(&all->keys, f->arena, 0, key, all->count++)))
        return false;
    all->sets[at] |= UINT64_C(1) << family;
    return true;
}

static bool make_ready(dd_folder *f, family_words *all)
{
    size_t most = FAMILIES;
    for (size_t i = 0; i < FAMILIES; i++)
        for (const char *p = families[i].members; p; p = strchr(p, ' ') ? strchr(p, ' ') + 1 : NULL)
            most++;
    all->ready = true;
    all->sets = dd_arena_take_many(f->arena, most, sizeof *all->sets);
    bool good = all->sets && dd_keys_room(&all->keys, f->arena, most);
    for (size_t i = 0; i < FAMILIES && good; i++) {
        good = add_member(f, all, families[i].name, strlen(families[i].name), i);
        for (const char *p = families[i].members; *p && good;) {
            size_t length = strcspn(p, " ");
            good = add_member(f, all, p, length, i);
            p += length + (p[length] == ' ');
        }
    }
    f->no_memory = f->no_memory || !good;
    return good;
}

static uint64_t families_of(const family_words *all, const words *whole)
{
    uint64_t set = 0;
    char name[NAME_MOST];
    words fine;
    for (size_t i = 0; i < whole->count; i++)
        for (size_t n = 1; n <= JOINED_MOST; n++) {
            size_t length = join(whole, i, n, name);
            const dd_keys_slot *slot = length ? dd_keys_like(&all->keys, 0, name, length) : NULL;
            set |= slot ? all->sets[slot->value] : 0;
        }
    split_fine(whole, &fine);
    for (size_t i = 0; i < fine.count; i++) {
        const dd_keys_slot *slot = dd_keys_like(&all->keys, 0, fine.at[i].text, fine.at[i].length);
        set |= slot ? all->sets[slot->value] : 0;
    }
    return set;
}

/* ---- an entry against an order ---- */

typedef struct entry {
    word text;
    words whole, substances, salts; /* salts: only where there are no substances */
    uint64_t families;
} entry;

static void read_entry(const family_words *all, word text, entry *e)
{
    words fine;
    e->text = text;
    e->substances.count = e->salts.count = 0;
    split(text.text, text.length, &e->whole);
    split_fine(&e->whole, &fine);
    for (size_t i = 0; i < fine.count; i++) {
        kind k = kind_of(fine.at[i]);
        if (k == SUBSTANCE_WORD)
            e->substances.at[e->substances.count++] = fine.at[i];
        else if (k == SALT_WORD)
            e->salts.at[e->salts.count++] = fine.at[i];
    }
    if (e->substances.count)
        e->salts.count = 0;
    e->families = families_of(all, &e->whole);
}

static bool has_word(const words *list, word w)
{
    for (size_t i = 0; i < list->count; i++)
        if (same(list->at[i], w))
            return true;
    return false;
}

/* Whether the entry and this name share a word, or the entry names it whole. */
static bool shares(const entry *e, const char *name, const words *whole)
{
    char joined[NAME_MOST];
    words fine;
    for (size_t i = 0; i < e->whole.count; i++)
        for (size_t n = 1; n <= JOINED_MOST; n++) {
            size_t length = join(&e->whole, i, n, joined);
            word w = {joined, length};
            if (length && same(w, (word){name, strlen(name)}) && kind_of(w) == SUBSTANCE_WORD)
                return true;
        }
    split_fine(whole, &fine);
    for (size_t i = 0; i < e->substances.count; i++)
        if (has_word(&fine, e->substances.at[i]))
            return true;
    size_t salts = 0;
    while (salts < e->salts.count && has_word(&fine, e->salts.at[salts]))
        salts++;
    return salts > 0 && salts == e->salts.count;
}

typedef struct meeting { bool word, in_flush; uint64_t families; } meeting;

static void meet_name(const family_words *all, const entry *e, const char *name, bool flush, meeting *m)
{
    words whole;
    if (!name || m->word)
        return;
    split(name, strlen(name), &whole);
    uint64_t both = e->families & families_of(all, &whole);
    m->word = shares(e, name, &whole);
    if (m->word || (both && !m->families))
        m->in_flush = flush;
    m->families |= both;
}

static void meet_mixture(const dd_folder *f, const family_words *all, const entry *e, const dd_mixture *x, bool flush, meeting *m)
{
    if (!x)
        return;
    meet_name(all, e, x->drug, flush, m);
    for (uint8_t i = 0; i < x->addition_count; i++) {
        meet_name(all, e, x->additions[i].key, flush, m);
        meet_name(all, e, x->additions[i].words, flush, m);
    }
    if (x->fluid >= 0) {
        meet_name(all, e, f->fluids[x->fluid].key, flush, m);
        meet_name(all, e, f->fluids[x->fluid].words, flush, m);
    }
}

static const char *family_name(uint64_t set)
{
    size_t i = 0;
    while (!(set >> i & 1))
        i++;
    return families[i].name;
}

/* What it says of the order. A shared word goes before a family; of equals the entry that stands first. */
static void note(dd_folder *f, const entry *e, dd_order *o, const meeting *m)
{
    if ((!m->word && !m->families) || (o->allergy && (!o->allergy_family || !m->word)))
        return;
    dd_bytes text = DD_BYTES(4096);
    dd_bytes_add(&text, e->text.text, e->text.length);
    o->allergy = dd_arena_text(f->arena, e->text.text, e->text.length);
    o->allergy_family = m->word ? NULL : family_name(m->families);
    if (o->allergy_family)
        dd_bytes_form(&text, ", family %s (from memory)", o->allergy_family);
    dd_bytes_text(&text, m->in_flush ? ", by its flush" : "");
    o->allergy_words = text.failed ? NULL : dd_arena_text(f->arena, text.data, text.length);
    f->no_memory = f->no_memory || !o->allergy || !o->allergy_words;
    dd_bytes_free(&text);
}

static void bind_patient(dd_folder *f, family_words *all, const dd_patient *p)
{
    dd_order *orders = f->orders + (p->orders - f->orders);
    entry e;
    for (const char *at = p->allergies; *at;) {
        size_t length = strcspn(at, ";");
        word text = {at, length};
        while (text.length && text.text[text.length - 1] == ' ')
            text.length--;
        while (text.length && *text.text == ' ')
            text = (word){text.text + 1, text.length - 1};
        at += length + (at[length] == ';');
        if (same(text, (word){"none", 4}) || (!all->ready && !make_ready(f, all)))
            continue;
        read_entry(all, text, &e);
        if (e.substances.count == 0 && e.salts.count == 0 && e.families == 0)
            continue;
        for (int i = 0; i < p->order_count; i++) {
            meeting m = {0};
            meet_mixture(f, all, &e, orders[i].mixture, false, &m);
            meet_mixture(f, all, &e, orders[i].flush, true, &m);
            note(f, &e, &orders[i], &m);
        }
    }
}

void dd_allergy_bind(dd_folder *f)
{
    family_words all = {0};
    for (size_t i = 0; i < f->plan.patient_count && !f->no_memory; i++)
        if (f->patients[i].allergies && f->patients[i].order_count)
            bind_patient(f, &all, &f->patients[i]);
}
