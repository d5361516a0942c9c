#include "mixture.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "bytes.h"
#include "catalogue.h"
#include "nearest.h"
#include "spoken.h"

#define AMOUNT (DD_TAKES_AMOUNT | DD_TAKES_STRENGTH)

typedef struct part { const char *text; size_t length; } part;

static part trimmed(const char *text, size_t length)
{
    while (length && (text[length - 1] == ' ' || text[length - 1] == '\t'))
        length--;
    while (length && (*text == ' ' || *text == '\t')) {
        text++;
        length--;
    }
    return (part){text, length};
}

static part first_word(part p)
{
    size_t n = 0;
    while (n < p.length && p.text[n] != ' ' && p.text[n] != '\t')
        n++;
    return (part){p.text, n};
}

/* A name in lower case, in the arena. */
static const char *lowered(dd_folder *f, part p)
{
    char *copy = dd_arena_text(f->arena, p.text, p.length);
    if (!copy)
        f->no_memory = true;
    for (char *c = copy; c && *c; c++)
        *c = *c >= 'A' && *c <= 'Z' ? (char)(*c - 'A' + 'a') : *c;
    return copy;
}

static bool form_fault(dd_sheet *s, part p, dd_message_id id, const char *first)
{
    char shown[320];
    snprintf(shown, sizeof shown, "%.*s", (int)(p.length < 310 ? p.length : 310), p.text);
    dd_table_fault(s, DD_COL_ORDERS_FLUID, id, shown, first, NULL);
    return false;
}

static int16_t fluid_index(const dd_folder *f, part name)
{
    const dd_keys_slot *slot = dd_keys_like(&f->fluid_keys, 0, name.text, name.length);
    return slot ? (int16_t)slot->value : -1;
}

static bool unknown_fluid(dd_folder *f, dd_sheet *s, part name)
{
    dd_nearest nearest = dd_nearest_begin(name.text, name.length);
    for (size_t i = 0; i < f->plan.fluid_count; i++)
        dd_nearest_offer(&nearest, f->fluids[i].key, strlen(f->fluids[i].key));
    return form_fault(s, name, DD_MSG_FLUID_UNKNOWN, nearest.best ? nearest.best : "a fluid of the catalogue or of fluids.csv");
}

/* ` in ` between two words; its place, or length where there is none. */
static size_t find_in(part p)
{
    for (size_t i = 1; i + 3 < p.length; i++)
        if ((p.text[i] == ' ' || p.text[i] == '\t') && p.text[i + 1] == 'i' && p.text[i + 2] == 'n'
            && (p.text[i + 3] == ' ' || p.text[i + 3] == '\t'))
            return i;
    return p.length;
}

static bool is_name(part p)
{
    return dd_cells_is_key(p.text, p.length) && !memchr(p.text, '_', p.length);
}

static void note_drug(dd_mixture *m, const dd_drug *drug)
{
    m->insulin = m->insulin || (drug && drug->flag == DD_DRUG_INSULIN);
    m->vasoactive = m->vasoactive || (drug && drug->flag == DD_DRUG_VASOACTIVE);
}

/* `cefazoline (nearest known name: cefazolin)`, of a name that is not known. */
static const char *make_hint(dd_folder *f, const char *name, size_t length)
{
    const char *nearest = dd_catalogue_nearest(&f->plan, name, length);
    dd_bytes out = DD_BYTES(512);
    dd_bytes_text(&out, name);
    if (nearest)
        dd_bytes_form(&out, " (nearest known name: %s)", nearest);
    const char *hint = out.failed ? NULL : dd_arena_text(f->arena, out.data, out.length);
    dd_bytes_free(&out);
    f->no_memory = f->no_memory || !hint;
    return hint;
}

static bool read_additive(dd_folder *f, dd_sheet *s, part p, dd_mixture *m, dd_addition *out)
{
    part name = first_word(p), amount = trimmed(p.text + name.length, p.length - name.length);
    if (!is_name(name))
        return form_fault(s, p, DD_MSG_FLUID_FORM, dd_column_list[DD_COL_ORDERS_FLUID].expected);
    out->key = lowered(f, name);
    if (!out->key)
        return false;
    if (amount.length == 0)
        return form_fault(s, name, DD_MSG_ADDITIVE_AMOUNT, out->key);
    if (!dd_cells_part(s, DD_COL_ORDERS_FLUID, amount.text, amount.length, AMOUNT, false, &out->amount))
        return false;
    out->additive = (int16_t)dd_catalogue_additive(out->key, name.length);
    out->words = out->additive >= 0 ? dd_catalogue_additives[out->additive].words : out->key;
    const dd_drug *drug = dd_catalogue_drug(out->key, name.length);
    note_drug(m, drug);
    out->known = out->additive >= 0 || drug;
    out->hint = out->known ? NULL : make_hint(f, out->key, name.length);
    out->per_bag = out->amount.per == DD_UNIT_NONE;
    return true;
}

/* What stands before the first `+`: a fluid, or a drug with an amount, in a fluid or not. */
static bool read_base(dd_folder *f, dd_sheet *s, part p, dd_mixture *m, dd_addition *additions)
{
    size_t in = find_in(p);
    part head = trimmed(p.text, in), name = first_word(head);
    part amount = trimmed(head.text + name.length, head.length - name.length);
    if (!is_name(name))
        return form_fault(s, p, DD_MSG_FLUID_FORM, dd_column_list[DD_COL_ORDERS_FLUID].expected);
    m->fluid = -1;
    if (in < p.length) {
        part carrier = trimmed(p.text + in + 4, p.length - in - 4);
        if (!is_name(carrier))
            return form_fault(s, p, DD_MSG_FLUID_FORM, dd_column_list[DD_COL_ORDERS_FLUID].expected);
        if (amount.length == 0) {
            const char *key = lowered(f, name);
            return key && form_fault(s, name, DD_MSG_ADDITIVE_AMOUNT, key);
        }
        m->fluid = fluid_index(f, carrier);
        if (m->fluid < 0)
            return unknown_fluid(f, s, carrier);
    } else if (amount.length == 0) {
        m->fluid = fluid_index(f, name);
        if (m->fluid >= 0) {
            m->category = f->fluids[m->fluid].category;
            return true;
        }
    }
    m->category = DD_CAT_DRUG;
    m->drug = lowered(f, name);
    if (!m->drug)
        return false;
    /* `nacl 0.9 %` is no drug with its amount but a fluid that is not written by its name. */
    if (amount.length && in == p.length && dd_quantity_read(amount.text, amount.length, AMOUNT, false, &m->drug_amount, NULL) != DD_QF_NONE)
        return form_fault(s, p, DD_MSG_FLUID_FORM, dd_column_list[DD_COL_ORDERS_FLUID].expected);
    if (amount.length && !dd_cells_part(s, DD_COL_ORDERS_FLUID, amount.text, amount.length, AMOUNT, false, &m->drug_amount))
        return false;
    int additive = dd_catalogue_additive(m->drug, name.length);
    const dd_drug *drug = dd_catalogue_drug(m->drug, name.length);
    m->drug_known = additive >= 0 || drug;
    note_drug(m, drug);
    m->hint = m->drug_known ? NULL : make_hint(f, m->drug, name.length);
    /* `kcl 20 mmol in nacl-0.9`: its salts count like those of an additive. */
    if (additive >= 0 && m->drug_amount.unit != DD_UNIT_NONE && m->fluid >= 0)
        additions[m->addition_count++] = (dd_addition){.key = m->drug, .words = dd_catalogue_additives[additive].words, .additive = (int16_t)additive,
                                                       .known = true, .per_bag = m->drug_amount.per == DD_UNIT_NONE, .amount = m->drug_amount};
    return true;
}

static void add_amount(dd_bytes *out, dd_quantity q)
{
    char text[160];
    size_t n = dd_number_quantity(text, sizeof text, q);
    dd_bytes_char(out, ' ');
    dd_bytes_add(out, text, n < sizeof text ? n : sizeof text - 1);
}

/* The mixture as people read it. */
static const char *make_words(dd_folder *f, const dd_mixture *m)
{
    dd_bytes out = DD_BYTES(8192);
    uint8_t first = 0;
    const char *fluid = m->fluid >= 0 ? f->fluids[m->fluid].words : NULL;
    if (m->drug) {
        int additive = dd_catalogue_additive(m->drug, strlen(m->drug));
        dd_bytes_text(&out, additive >= 0 ? dd_catalogue_additives[additive].words : m->drug);
        if (m->drug_amount.unit != DD_UNIT_NONE)
            add_amount(&out, m->drug_amount);
        if (fluid)
            dd_bytes_text(&out, " in ");
        first = additive >= 0 && m->addition_count && m->additions[0].key == m->drug;
    }
    if (fluid)
        dd_bytes_text(&out, fluid);
    bool with = fluid && strstr(fluid, " with ");
    for (uint8_t i = first; i < m->addition_count; i++) {
        dd_bytes_text(&out, with ? " and " : " with ");
        with = true;
        dd_bytes_text(&out, m->additions[i].words);
        add_amount(&out, m->additions[i].amount);
        if (m->additions[i].per_bag)
            dd_bytes_text(&out, " per bag");
    }
    const char *words = out.failed ? NULL : dd_arena_text(f->arena, out.data ? out.data : "", out.length);
    dd_bytes_free(&out);
    if (!words)
        f->no_memory = true;
    return words;
}

static int by_text(const void *left, const void *right)
{
    return strcmp(*(const char *const *)left, *(const char *const *)right);
}

/* The number of its blend: its names, sorted, each once. */
static bool find_blend(dd_folder *f, dd_mixture *m)
{
    const char *names[DD_ADDITIONS_MOST + 3];
    size_t count = 0;
    if (m->drug)
        names[count++] = m->drug;
    if (m->fluid >= 0)
        names[count++] = f->fluids[m->fluid].key;
    for (uint8_t i = 0; i < m->addition_count; i++)
        names[count++] = m->additions[i].key;
    qsort(names, count, sizeof *names, by_text);
    dd_bytes key = DD_BYTES(4096);
    for (size_t i = 0; i < count; i++)
        if (i == 0 || strcmp(names[i], names[i - 1]) != 0) {
            dd_bytes_text(&key, names[i]);
            dd_bytes_char(&key, ' ');
        }
    const dd_keys_slot *slot = key.failed ? NULL : dd_keys_find(&f->blends, 0, key.data, key.length);
    m->blend = slot ? slot->value : (uint32_t)f->blends.count;
    if (!slot) {
        const char *text = key.failed ? NULL : dd_arena_text(f->arena, key.data, key.length);
        f->no_memory = f->no_memory || !text || !dd_keys_add(&f->blends, f->arena, 0, text, m->blend);
    }
    dd_bytes_free(&key);
    return !f->no_memory;
}

static bool read_parts(dd_folder *f, dd_sheet *s, part text, dd_mixture *m)
{
    dd_addition additions[DD_ADDITIONS_MOST + 1] = {0};
    size_t at = 0;
    for (bool base = true;; base = false) {
        const char *plus = memchr(text.text + at, '+', text.length - at);
        size_t end = plus ? (size_t)(plus - text.text) : text.length;
        part p = trimmed(text.text + at, end - at);
        if (p.length == 0 || m->addition_count == DD_ADDITIONS_MOST)
            return form_fault(s, text, DD_MSG_FLUID_FORM, dd_column_list[DD_COL_ORDERS_FLUID].expected);
        if (base ? !read_base(f, s, p, m, additions) : !read_additive(f, s, p, m, &additions[m->addition_count]))
            return false;
        m->addition_count = (uint8_t)(m->addition_count + !base);
        if (!plus)
            break;
        at = end + 1;
    }
    dd_addition *kept = dd_arena_take_many(f->arena, m->addition_count ? m->addition_count : 1, sizeof *kept);
    if (!kept) {
        f->no_memory = true;
        return false;
    }
    if (m->addition_count)
        memcpy(kept, additions, m->addition_count * sizeof *kept);
    m->additions = kept;
    m->words = make_words(f, m);
    return m->words != NULL;
}

/* Numbers it and keeps it for orders with the same text, which must last. */
static const dd_mixture *keep(dd_folder *f, dd_mixture *m)
{
    if (!find_blend(f, m) || !dd_arena_room(f->arena, &f->mixtures, &f->mixture_room, f->mixture_count, sizeof *f->mixtures)
        || !dd_keys_add(&f->mixture_texts, f->arena, 0, m->text, (uint32_t)f->mixture_count)) {
        f->no_memory = true;
        return NULL;
    }
    m->number = (uint32_t)f->mixture_count;
    f->mixtures[f->mixture_count++] = (dd_mixture_desk){.mixture = m};
    return m;
}

/* What a record says in people's words; anything else stays as it is. */
static part in_tables_words(dd_folder *f, part text)
{
    dd_bytes words = DD_BYTES(4096);
    part found = text;
    if (dd_spoken_mixture(f, text.text, &words)) {
        const char *copy = dd_arena_text(f->arena, words.data, words.length);
        f->no_memory = f->no_memory || !copy;
        found = copy ? (part){copy, words.length} : text;
    }
    f->no_memory = f->no_memory || words.failed;
    dd_bytes_free(&words);
    return found;
}

const dd_mixture *dd_mixture_read(dd_folder *f, dd_sheet *s)
{
    part text;
    if (!dd_cells_text(s, DD_COL_ORDERS_FLUID, &text.text, &text.length))
        return NULL;
    if (f->counterpart && dd_spoken_is(text.text, f->counterpart->mixture->words)) /* words may be those of two */
        text = (part){f->counterpart->mixture->text, strlen(f->counterpart->mixture->text)};
    const dd_keys_slot *slot = dd_keys_find(&f->mixture_texts, 0, text.text, text.length);
    if (slot)
        return f->mixtures[slot->value].mixture;
    dd_mixture *m = dd_arena_take(f->arena, sizeof *m);
    if (!m || !(m->text = dd_arena_text(f->arena, text.text, text.length))) {
        f->no_memory = true;
        return NULL;
    }
    if (!read_parts(f, s, f->ordered ? in_tables_words(f, (part){m->text, text.length}) : (part){m->text, text.length}, m))
        return NULL;
    return keep(f, m);
}

const dd_mixture *dd_mixture_plain(dd_folder *f, int16_t fluid)
{
    const dd_fluid *is = &f->fluids[fluid];
    const dd_keys_slot *slot = dd_keys_find(&f->mixture_texts, 0, is->key, strlen(is->key));
    if (slot)
        return f->mixtures[slot->value].mixture;
    dd_mixture *m = dd_arena_take(f->arena, sizeof *m);
    if (!m) {
        f->no_memory = true;
        return NULL;
    }
    *m = (dd_mixture){.text = is->key, .words = is->words, .fluid = fluid, .category = is->category};
    return keep(f, m);
}
