/* carry.c - the next plan folder from this one. */
#include <string.h>
#include <time.h>

#include "carry.h"
#include "digest.h"
#include "made.h"
#include "session.h"
#include "verbs.h"

#define TABLE_CEILING ((size_t)512 << 20) /* what a table may have when it is read */

typedef struct next_plan {
    dd_session *s;
    dd_made made;
} next_plan;

static bool write_table(next_plan *n, dd_carry *c, dd_table table)
{
    char name[64];
    const char *shape = dd_column_table(table)->name;
    size_t length = strlen(shape);
    memcpy(name, shape, length);
    memcpy(name + length, ".csv", 5);
    dd_bytes text = DD_BYTES(TABLE_CEILING);
    bool there;
    dd_status status = dd_carry_table(c, table, &text, &there);
    bool fine = status == DD_OK && (!there || dd_made_write(&n->made, name, text.data, text.length));
    if (status != DD_OK)
        dd_session_failed(n->s, DD_NO_MEMORY);
    else if (!fine)
        dd_session_exit(n->s, DD_EXIT_FILE);
    dd_bytes_free(&text);
    return fine;
}

/* The next plan is read like any other before it is left to anybody. */
static bool read_back(next_plan *n)
{
    dd_folder *folder;
    dd_status status = dd_folder_read(n->made.folder, &folder);
    if (status == DD_OK) {
        dd_folder_free(folder);
        return true;
    }
    if (!folder) {
        dd_session_failed(n->s, status);
        return false;
    }
    dd_folder_show(folder, n->s->err);
    dd_folder_free(folder);
    dd_bytes_form(n->s->err, "daydrip: the next plan could not be read back; it was removed. %s and carry again\n",
        status == DD_CANNOT_READ ? "See why" : "Change the orders named here");
    dd_session_exit(n->s, status == DD_CANNOT_READ ? DD_EXIT_FILE : DD_EXIT_PLAN);
    return false;
}

static bool write_next(next_plan *n)
{
    char id[37];
    dd_bytes said = DD_BYTES((size_t)64 << 20);
    dd_session *s = n->s;
    dd_digest_uuid(id);
    dd_carry c = {.folder = s->folder, .plan = s->plan, .timelines = s->view.timelines, .arena = s->arena, .said = &said, .id = id};
    dd_status status = dd_carry_begin(&c);
    if (status != DD_OK)
        dd_session_failed(s, status);
    bool fine = status == DD_OK && dd_made_begin(&n->made);
    if (status == DD_OK && !fine)
        dd_session_exit(s, DD_EXIT_FILE);
    if (fine) {
        for (int t = DD_TABLE_COUNT; fine && t-- > 0;) /* ward.csv last: without it a folder is no plan */
            if (t != DD_TABLE_WARD)
                fine = write_table(n, &c, (dd_table)t);
        fine = fine && write_table(n, &c, DD_TABLE_WARD) && read_back(n);
        if (!fine)
            dd_made_undo(&n->made);
    }
    if (fine && said.length && !s->words->value[DD_OPTION_QUIET])
        dd_bytes_add(s->err, said.data, said.length);
    dd_bytes_free(&said);
    return fine;
}

/* Without --at the plan is carried as it stands now; once it is over, with all that was written down since. */
static void settle_now(dd_session *s)
{
    dd_moment now = (dd_moment)time(NULL);
    if (s->words->value[DD_OPTION_AT] || now <= s->plan->end)
        return;
    s->view.now = s->plan->end;
    if (!s->words->value[DD_OPTION_KNOWN])
        s->view.known = now;
}

/* A ward that is carried by half is dangerous: any error stops all of it. */
static bool without_errors(dd_session *s)
{
    if (dd_folder_errors(s->folder) == 0)
        return true;
    dd_session_not_planned(s, s->err);
    dd_bytes_text(s->err, "daydrip: nothing is carried while the plan has errors: patients would be missing from the next one\n");
    dd_session_exit(s, DD_EXIT_PLAN);
    return false;
}

int dd_carry_verb(const dd_words *words, dd_bytes *out, dd_bytes *err)
{
    if (!words->value[DD_OPTION_NEXT])
        return dd_words_wrong(err, words, "--to is missing: the folder of the next plan, new or empty");
    dd_session s;
    if (dd_session_begin(&s, words, DD_CLOCK_OR_BEGIN, out, err) && without_errors(&s)) {
        next_plan n = {.s = &s, .made = {.err = err, .arena = s.arena, .folder = words->value[DD_OPTION_NEXT], .what = "the next plan"}};
        settle_now(&s);
        char begins[DD_MOMENT_MAX];
        dd_moment_write(begins, s.plan->zone, s.plan->end, DD_MOMENT_LOCAL);
        if (dd_session_timelines(&s) && write_next(&n))
            dd_bytes_form(out, "%s: the next plan, from %s\n", n.made.folder, begins);
    }
    dd_session_end(&s);
    return s.exit_status;
}
