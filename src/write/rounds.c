#include "rounds.h"

#include <stdlib.h>

#include "glance.h"
#include "item.h"
#include "phrase.h"
#include "summary.h"
#include "upkeep.h"

#define CHANGES_MOST 2 /* sites by which a round may differ from an earlier one and still be told by it */
#define SITES_FEW 3    /* so few are listed again */
#define AGO_MOST 14400 /* seconds back to that round */

#define MORE(a, b) (((a) > (b)) - ((a) < (b)))

bool dd_rounds_add(dd_rounds *r, dd_arena *arena, dd_rounds_look look)
{
    if (!dd_arena_room(arena, &r->looks, &r->room, r->count, sizeof look))
        return false;
    r->looks[r->count++] = look;
    return true;
}

static int by_round(const void *left, const void *right)
{
    const dd_rounds_look *a = left, *b = right;
    int c = MORE(a->task->at, b->task->at);
    c = c ? c : dd_summary_by_team(a->team, b->team);
    c = c ? c : MORE(a->patient, b->patient);
    c = c ? c : MORE(a->task->line, b->task->line);
    return c ? c : MORE(a->task->kind, b->task->kind);
}

void dd_rounds_sort(dd_rounds *r)
{
    if (r->count > 1)
        qsort(r->looks, r->count, sizeof *r->looks, by_round);
}

size_t dd_rounds_end(const dd_rounds *r, size_t first)
{
    size_t end = first + 1;
    while (end < r->count && r->looks[end].task->at == r->looks[first].task->at && dd_summary_by_team(r->looks[end].team, r->looks[first].team) == 0)
        end++;
    return end;
}

/* ---- whose sites ---- */

typedef struct sites { const dd_rounds_look *looks; size_t count; } sites;

static int by_site(const dd_rounds_look *a, const dd_rounds_look *b)
{
    int c = MORE(a->patient, b->patient);
    return c ? c : MORE(a->task->line, b->task->line);
}

static void add_number(dd_bytes *out, size_t n)
{
    char number[DD_NUMBER_MAX];
    dd_bytes_add(out, number, dd_number_scaled(number, (int64_t)n, 0, 0, DD_STYLE_PERSON));
}

static void add_site(dd_bytes *out, const dd_view *view, const dd_rounds_look *look)
{
    const dd_patient *p = view->patients[look->patient];
    dd_bytes_text(out, dd_phrase_bed(p));
    dd_bytes_char(out, ' ');
    dd_bytes_text(out, p->lines[look->task->line].key);
    dd_bytes_text(out, look->task->kind == DD_TASK_FIRST_LOOK ? " (first look)" : "");
}

/* Lines of the patient that are in. */
static size_t lines_of(const dd_view *view, size_t patient)
{
    const dd_timeline *t = view->timelines[patient];
    size_t n = 0;
    for (int line = 0; line < t->patient->line_count; line++)
        n += !dd_upkeep_is_off(t, line);
    return n;
}

void dd_rounds_sites(dd_bytes *out, const dd_view *view, const dd_rounds_look *looks, size_t count)
{
    for (size_t i = 0, next; i < count; i = next) {
        bool first_look = false;
        for (next = i; next < count && looks[next].patient == looks[i].patient; next++)
            first_look |= looks[next].task->kind == DD_TASK_FIRST_LOOK;
        if (first_look || next - i != lines_of(view, looks[i].patient)) {
            for (size_t k = i; k < next; k++) {
                dd_bytes_text(out, k ? ", " : "");
                add_site(out, view, &looks[k]);
            }
            continue;
        }
        dd_bytes_text(out, i ? ", " : "");
        dd_bytes_text(out, dd_phrase_bed(view->patients[looks[i].patient]));
        if (next - i > 1) {
            dd_bytes_text(out, " x");
            add_number(out, next - i);
        }
    }
}

/* What is in `a` and not in `b`; each is appended behind `word` where there is one. */
static size_t add_missing(dd_front *f, sites a, sites b, const char *word)
{
    size_t k = 0, n = 0;
    for (size_t i = 0; i < a.count; i++) {
        while (k < b.count && by_site(&b.looks[k], &a.looks[i]) < 0)
            k++;
        if (k < b.count && by_site(&b.looks[k], &a.looks[i]) == 0)
            continue;
        n++;
        if (word) {
            dd_bytes_text(f->text, word);
            add_site(f->text, f->view, &a.looks[i]);
        }
    }
    return n;
}

/* `as 20:00, and bay1-bed4 right-forearm`, where that is shorter; false: it is not. */
static bool add_as_before(dd_front *f, sites now, sites before)
{
    size_t more = add_missing(f, now, before, NULL), fewer = add_missing(f, before, now, NULL);
    for (size_t i = 0; i < now.count; i++)
        if (now.looks[i].task->kind == DD_TASK_FIRST_LOOK)
            return false;
    if (now.count <= SITES_FEW || now.looks[0].task->at - before.looks[0].task->at > AGO_MOST || more + fewer > CHANGES_MOST)
        return false;
    dd_bytes_text(f->text, "as ");
    dd_item_clock(f, before.looks[0].task->at, f->long_span ? DD_MOMENT_DAY : DD_MOMENT_CLOCK);
    add_missing(f, now, before, ", and ");
    add_missing(f, before, now, ", without ");
    return true;
}

/* Which round the sites of this team were last listed in, one by one; NULL: none yet. */
static size_t *told_of(dd_rounds *r, const char *team)
{
    for (size_t i = 0; i < r->told_count; i++)
        if (dd_summary_by_team(r->looks[r->told[i]].team, team) == 0)
            return &r->told[i];
    return NULL;
}

/* ---- one round ---- */

void dd_rounds_count(dd_bytes *out, const dd_view *view, const dd_rounds_look *looks, size_t count)
{
    size_t tubes = 0;
    for (size_t i = 0; i < count; i++)
        tubes += view->patients[looks[i].patient]->lines[looks[i].task->line].kind == DD_KIND_ENTERAL;
    if (count > tubes) {
        add_number(out, count - tubes);
        dd_bytes_text(out, count - tubes == 1 ? " site" : " sites");
    }
    if (tubes) {
        dd_bytes_text(out, count > tubes ? ", " : "");
        add_number(out, tubes);
        dd_bytes_text(out, tubes == 1 ? " tube" : " tubes");
    }
}

/* `team A, 6 sites, 1 tube: `, as far as there are teams, and tubes. */
static void add_head(dd_front *f, sites s)
{
    if (s.looks[0].team && !f->paper) { /* on paper each team has its list */
        dd_summary_team(f->text, s.looks[0].team);
        dd_bytes_text(f->text, ", ");
    }
    dd_rounds_count(f->text, f->view, s.looks, s.count);
    dd_bytes_text(f->text, ": ");
}

/* `bay1-bed2 right-hand should show 225 mL` */
static void set_levels(dd_front *f, const dd_rounds_look *look)
{
    const dd_timeline *t = f->view->timelines[look->patient];
    for (size_t i = 0; i < t->bag_count; i++) {
        const dd_bag *b = &t->bags[i];
        dd_u left;
        if (b->line != look->task->line || t->patient->orders[b->order].device != DD_GRAVITY || !dd_glance_level(t, b, look->task->at, &left))
            continue;
        dd_phrase_start(f->text);
        dd_bytes_text(f->text, dd_phrase_bed(t->patient));
        dd_bytes_char(f->text, ' ');
        dd_bytes_text(f->text, t->patient->lines[b->line].key);
        dd_bytes_text(f->text, " should show ");
        dd_phrase_volume(f->text, t->patient, left);
        dd_bytes_text(f->text, " mL");
        dd_item_detail(f);
    }
}

void dd_rounds_write(dd_rounds *r, dd_front *f, size_t first)
{
    const sites s = {&r->looks[first], dd_rounds_end(r, first) - first};
    size_t *told = told_of(r, s.looks[0].team);
    dd_phrase_start(f->text);
    add_head(f, s);
    if (!told || !add_as_before(f, s, (sites){&r->looks[*told], dd_rounds_end(r, *told) - *told})) {
        dd_rounds_sites(f->text, f->view, s.looks, s.count);
        if (told)
            *told = first;
        else if (dd_arena_room(f->arena, &r->told, &r->told_room, r->told_count, sizeof *r->told))
            r->told[r->told_count++] = first;
        else
            f->status = DD_NO_MEMORY;
    }
    dd_item_round(f, s.looks[0].task->at);
    for (size_t i = 0; i < s.count; i++)
        set_levels(f, &s.looks[i]);
}
