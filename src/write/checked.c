#include "checked.h"

#include <string.h>

#include "names.h"
#include "phrase.h"
#include "rulelist.h"

#define TEXT_CEILING ((size_t)16 << 20)

static void add_count(dd_bytes *out, size_t n)
{
    char number[DD_NUMBER_MAX];
    dd_bytes_add(out, number, dd_number_scaled(number, (int64_t)n, 0, 0, DD_STYLE_PERSON));
}

#define NAMED 40 /* patients that are named; then a count */

/* Whether this patient's timeline wants it, and for which orders. */
static bool wanted(const dd_timeline *t, unsigned want)
{
    for (size_t i = 0; t && i < t->unchecked_count; i++)
        if (t->unchecked[i].want == want)
            return true;
    return false;
}

static void add_orders(dd_bytes *out, const dd_timeline *t, unsigned want)
{
    int last = -1;
    for (int o = 0; o < t->patient->order_count; o++)
        for (size_t i = 0; i < t->unchecked_count; i++)
            if (t->unchecked[i].want == want && t->unchecked[i].order == o && o != last) {
                dd_bytes_char(out, ' ');
                dd_bytes_text(out, t->patient->orders[o].key);
                last = o;
            }
}

/* `salts not known (bay3-cot1 feed, bay4-cot1 feed)` */
static void add_want(dd_bytes *out, const dd_view *v, unsigned want, const char *text, bool *any)
{
    size_t count = 0;
    for (size_t i = 0; i < v->count; i++) {
        if (!wanted(v->timelines[i], want))
            continue;
        if (count < NAMED) {
            if (count == 0) {
                dd_bytes_text(out, *any ? "; " : "Not checked for want of data: ");
                dd_bytes_text(out, text);
            }
            dd_bytes_text(out, count ? ", " : " (");
            dd_bytes_text(out, dd_phrase_bed(v->patients[i]));
            add_orders(out, v->timelines[i], want);
        }
        count++;
    }
    if (count > NAMED) {
        dd_bytes_text(out, " and ");
        add_count(out, count - NAMED);
        dd_bytes_text(out, " more");
    }
    if (count) {
        dd_bytes_char(out, ')');
        *any = true;
    }
}

void dd_checked_unchecked(dd_bytes *out, const dd_view *v)
{
    bool any = false;
    for (unsigned want = 0; want < DD_WANT_COUNT; want++)
        add_want(out, v, want, dd_names_want((int)want), &any);
    dd_bytes_text(out, any ? ".\n" : "");
}

void dd_checked_write(dd_bytes *out, const dd_view *v, bool codes)
{
    size_t planned = 0;
    for (size_t i = 0; i < v->count; i++)
        planned += v->patients[i]->errors == 0;
    dd_bytes_text(out, "Checked: ");
    add_count(out, planned);
    dd_bytes_text(out, planned == 1 ? " patient for " : " patients for ");
    add_count(out, DD_FINDING_SOUGHT);
    dd_bytes_text(out, " kinds of finding");
    dd_bytes_text(out, codes ? " and nothing else. No record was held against the orders: compare does that.\n" : " and nothing else.\n");
    if (planned < v->count) {
        dd_bytes_text(out, "Not planned and not checked because of errors: ");
        add_count(out, v->count - planned);
        dd_bytes_text(out, v->count - planned == 1 ? " patient.\n" : " patients.\n");
    }
    if (v->timelines)
        dd_checked_unchecked(out, v);
    size_t before = out->length;
    if (codes)
        dd_rulelist_count(out, v->plan);
    dd_bytes_text(out, out->length > before ? ".\n" : "");
}

#define TEXT_CEILING ((size_t)16 << 20)

dd_status dd_checked_set(dd_sheet *sheet, const dd_view *view, bool codes)
{
    dd_bytes text = DD_BYTES(TEXT_CEILING), line = DD_BYTES(TEXT_CEILING);
    dd_checked_write(&text, view, codes);
    for (const char *p = dd_phrase_text(&text); *p;) {
        size_t length = strcspn(p, "\n");
        dd_phrase_start(&line);
        dd_bytes_add(&line, p, length);
        dd_sheet_text(sheet, 0, 1, dd_phrase_text(&line));
        p += length + (p[length] == '\n');
    }
    dd_status status = text.failed || line.failed ? DD_NO_MEMORY : DD_OK;
    dd_bytes_free(&text);
    dd_bytes_free(&line);
    return status;
}
