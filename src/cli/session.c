#include "session.h"

#include <errno.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "arena.h"
#include "file.h"
#include "list.h"

#define MOST_JOBS 64
#define CHUNK 64                            /* patients that a thread takes at a time */
#define OUTPUT_CEILING ((size_t)2 << 30)    /* bytes of one output */

int dd_session_exit(dd_session *s, int status)
{
    static const int rank[] = {[DD_EXIT_DONE] = 0, [DD_EXIT_CLARIFY] = 1, [DD_EXIT_PLAN] = 2, [DD_EXIT_FILE] = 3, [DD_EXIT_USAGE] = 4};
    if (rank[status] > rank[s->exit_status])
        s->exit_status = status;
    return s->exit_status;
}

int dd_session_failed(dd_session *s, dd_status status)
{
    if (status == DD_NO_MEMORY)
        dd_bytes_text(s->err, "daydrip: not enough memory\n");
    else if (status == DD_TOO_LARGE)
        dd_bytes_text(s->err, "daydrip: a result is too large to be worked out exactly\n");
    else
        dd_bytes_form(s->err, "daydrip: %s\n", strerror(errno));
    return dd_session_exit(s, DD_EXIT_FILE);
}

static bool whole_number(const char *text, long low, long high, long *out)
{
    char *end;
    errno = 0;
    long value = strtol(text, &end, 10);
    if (errno || *end || end == text || value < low || value > high || text[0] == '+' || text[0] == ' ')
        return false;
    *out = value;
    return true;
}

static bool wrong_option(dd_session *s, const char *name, const char *value, const char *expected)
{
    dd_session_exit(s, dd_words_wrong(s->err, s->words, "--%s \"%.60s\": expected %s", name, value, expected));
    return false;
}

/* Options that say how it is written. */
static bool settle_form(dd_session *s)
{
    const dd_words *w = s->words;
    const char *format = w->value[DD_OPTION_FORMAT], *width = w->value[DD_OPTION_WIDTH];
    long jobs = 1;
    if (format && strcmp(format, "text") != 0 && strcmp(format, "csv") != 0)
        return wrong_option(s, "format", format, "text or csv");
    if (width && strcmp(width, "72") != 0 && strcmp(width, "132") != 0)
        return wrong_option(s, "width", width, "72 or 132");
    if (w->value[DD_OPTION_JOBS] && !whole_number(w->value[DD_OPTION_JOBS], 1, MOST_JOBS, &jobs))
        return wrong_option(s, "jobs", w->value[DD_OPTION_JOBS], "a whole number from 1 to 64");
    s->jobs = (int)jobs;
    s->view.csv = format && strcmp(format, "csv") == 0;
    s->view.width = width && strcmp(width, "132") == 0 ? 132 : 72;
    s->view.pages = !w->value[DD_OPTION_NO_PAGES];
    return true;
}

/* The K-th of N parts: patients i of n with floor(i x N / n) = K - 1. */
static bool settle_shard(dd_session *s, size_t *from, size_t *to)
{
    const char *text = s->words->value[DD_OPTION_SHARD];
    size_t n = s->plan->patient_count;
    *from = 0;
    *to = n;
    s->view.header = true;
    if (!text)
        return true;
    char part[32];
    const char *slash = strchr(text, '/');
    long k, of;
    if (!slash || (size_t)(slash - text) >= sizeof part)
        return wrong_option(s, "shard", text, "K/N, such as 1/4");
    memcpy(part, text, (size_t)(slash - text));
    part[slash - text] = '\0';
    if (!whole_number(slash + 1, 1, 100000, &of) || !whole_number(part, 1, of, &k))
        return wrong_option(s, "shard", text, "K/N with K from 1 to N, such as 1/4");
    /* floor(i N / n) >= k - 1 from i = ceil((k - 1) n / N) on */
    *from = ((size_t)(k - 1) * n + (size_t)of - 1) / (size_t)of;
    *to = ((size_t)k * n + (size_t)of - 1) / (size_t)of;
    s->view.header = k == 1;
    return true;
}

static bool asked_for(const dd_words *w, const dd_patient *p, bool *used)
{
    if (w->value[DD_OPTION_TEAM] && (!p->team || strcmp(p->team, w->value[DD_OPTION_TEAM]) != 0))
        return false;
    if (!w->patients)
        return true;
    for (int i = 0; w->patients[i]; i++)
        if (strcmp(w->patients[i], p->key) == 0 || strcmp(w->patients[i], p->bed) == 0)
            return used[i] = true;
    return false;
}

static bool settle_patients(dd_session *s)
{
    const dd_words *w = s->words;
    size_t from, to, names = 0;
    if (!settle_shard(s, &from, &to))
        return false;
    for (; w->patients && w->patients[names];)
        names++;
    bool *used = dd_arena_take_many(s->arena, names + 1, sizeof *used);
    s->patients = dd_arena_take_many(s->arena, to - from + 1, sizeof *s->patients);
    if (!used || !s->patients) {
        dd_session_failed(s, DD_NO_MEMORY);
        return false;
    }
    for (size_t i = from; i < to; i++)
        if (asked_for(w, &s->plan->patients[i], used))
            s->patients[s->view.count++] = &s->plan->patients[i];
    for (size_t i = 0; i < names; i++)
        if (!used[i] && !w->value[DD_OPTION_SHARD]) {
            dd_session_exit(s, dd_words_wrong(s->err, w, "--patient \"%.60s\": no patient and no bed of that name%s", w->patients[i],
                w->value[DD_OPTION_TEAM] ? " in this team" : ""));
            return false;
        }
    if (w->value[DD_OPTION_TEAM] && s->view.count == 0 && !w->value[DD_OPTION_SHARD]) {
        dd_session_exit(s, dd_words_wrong(s->err, w, "--team \"%.60s\": no patient of that team", w->value[DD_OPTION_TEAM]));
        return false;
    }
    s->view.team = w->value[DD_OPTION_TEAM];
    s->view.patients = s->patients;
    return true;
}

/* Words that belong to the verb and stand before the plan; -1: all of them do, the plan is said with --plan. */
static int own_words(dd_verb verb)
{
    return verb == DD_VERB_EXPLAIN ? -1 : verb == DD_VERB_BAG ? 3 : verb == DD_VERB_COMPARE ? 1 : 0;
}

static bool load(dd_session *s, bool needs_plan)
{
    int own = own_words(s->words->verb), more = own < 0 ? 0 : s->words->rest_count - own;
    const char *path = s->words->value[DD_OPTION_PLAN] ? s->words->value[DD_OPTION_PLAN] : more > 0 ? s->words->rest[own] : ".";
    if (more + (s->words->value[DD_OPTION_PLAN] != NULL) > 1) {
        dd_session_exit(s, dd_words_wrong(s->err, s->words, "one plan folder at a time; \"%.60s\" is one too many",
            s->words->rest[s->words->rest_count - 1]));
        return false;
    }
    bool named = s->words->value[DD_OPTION_PLAN] || s->words->rest_count;
    dd_status status = named || needs_plan ? dd_folder_read(path, &s->folder) : dd_folder_built_in(&s->folder);
    if (!s->folder) {
        dd_session_failed(s, status);
        return false;
    }
    if (status != DD_OK && (!s->words->value[DD_OPTION_QUIET] || !dd_folder_usable(s->folder)))
        dd_folder_show(s->folder, s->err);
    if (status == DD_CANNOT_READ || dd_folder_unreadable(s->folder))
        dd_session_exit(s, DD_EXIT_FILE);
    if (dd_folder_errors(s->folder) > 0)
        dd_session_exit(s, DD_EXIT_PLAN);
    if (status == DD_NO_MEMORY)
        dd_session_failed(s, status);
    s->plan = dd_folder_plan(s->folder);
    return dd_folder_usable(s->folder) && status != DD_NO_MEMORY;
}

bool dd_session_open(dd_session *s, const dd_words *words, bool needs_plan, dd_bytes *out, dd_bytes *err)
{
    *s = (dd_session){.words = words, .out = out, .err = err, .exit_status = DD_EXIT_DONE};
    dd_progress_begin(&s->progress);
    s->arena = dd_arena_new();
    if (!s->arena) {
        dd_session_failed(s, DD_NO_MEMORY);
        return false;
    }
    if (!settle_form(s) || !load(s, needs_plan))
        return false;
    s->view.plan = s->plan;
    s->view.folder = s->folder;
    return true;
}

bool dd_session_begin(dd_session *s, const dd_words *words, dd_clock_use use, dd_bytes *out, dd_bytes *err)
{
    return dd_session_open(s, words, true, out, err) && settle_patients(s) && dd_span_settle(s, use);
}

void dd_session_end(dd_session *s)
{
    dd_progress_end(&s->progress);
    if (s->writing)
        dd_file_drop(&s->file);
    dd_folder_free(s->folder);
    dd_arena_free(s->arena);
}

static dd_status make_one(const dd_session *s, const dd_patient *p, dd_moment now, dd_moment known, dd_arena *arena, dd_timeline *out)
{
    return s->bare ? dd_timeline_bare(s->plan, p, now, known, NULL, arena, out) : dd_timeline_make(s->plan, p, now, known, arena, out);
}

static const dd_timeline **make_all(dd_session *s, dd_moment now, dd_moment known)
{
    const dd_timeline **list = dd_arena_take_many(s->arena, s->view.count + 1, sizeof *list);
    if (!list) {
        dd_session_failed(s, DD_NO_MEMORY);
        return NULL;
    }
    for (size_t i = 0; i < s->view.count; i++) {
        if (s->patients[i]->errors)
            continue;
        dd_timeline *t = dd_arena_take(s->arena, sizeof *t);
        dd_status status = t ? make_one(s, s->patients[i], now, known, s->arena, t) : DD_NO_MEMORY;
        if (status != DD_OK) {
            dd_session_failed(s, status);
            return NULL;
        }
        list[i] = t;
        dd_progress_patients(&s->progress, i + 1, s->view.count);
    }
    return list;
}

bool dd_session_timelines(dd_session *s)
{
    s->view.timelines = make_all(s, s->view.now, s->view.known);
    return s->view.timelines != NULL;
}

bool dd_session_planned(dd_session *s)
{
    s->view.planned = make_all(s, s->plan->begins, DD_SESSION_UNCHARTED(s->plan));
    return s->view.planned != NULL;
}

/* ---- patient by patient ---- */

typedef struct chunk {
    const dd_session *session;
    dd_session_work *work;
    dd_arena *arena;
    dd_bytes bytes;
    size_t from, to, to_clarify;
    dd_status status;
} chunk;

static bool is_to_clarify(const dd_timeline *t)
{
    for (size_t i = 0; i < t->finding_count; i++)
        if (t->findings[i].severity == DD_CLARIFY && !t->findings[i].accepted)
            return true;
    return false;
}

static void *work_chunk(void *data)
{
    chunk *c = data;
    c->status = DD_OK;
    for (size_t i = c->from; i < c->to && c->status == DD_OK; i++) {
        const dd_patient *p = c->session->patients[i];
        if (p->errors)
            continue;
        dd_timeline t;
        c->status = make_one(c->session, p, c->session->view.now, c->session->view.known, c->arena, &t);
        c->to_clarify += c->status == DD_OK && is_to_clarify(&t);
        if (c->status == DD_OK)
            c->status = c->work(c->session, &t, c->arena, &c->bytes);
        dd_arena_reset(c->arena);
    }
    return NULL;
}

static bool goes_to_file(const dd_session *s)
{
    const char *path = s->words->value[DD_OPTION_OUTPUT];
    return path && strcmp(path, "-") != 0;
}

bool dd_session_write(dd_session *s, const dd_bytes *bytes)
{
    if (dd_arena_starved()) {
        dd_session_failed(s, DD_NO_MEMORY);
        return false;
    }
    for (size_t done = 0; done < bytes->length;) {
        ssize_t n = write(STDOUT_FILENO, bytes->data + done, bytes->length - done);
        if (n < 0 && errno == EINTR)
            continue;
        if (n <= 0) {
            dd_bytes_form(s->err, "daydrip: standard output: %s\n", strerror(errno));
            dd_session_exit(s, DD_EXIT_FILE);
            return false;
        }
        done += (size_t)n;
    }
    return true;
}

/* What became of a file, said. */
static bool file_fine(dd_session *s, dd_status status)
{
    if (status == DD_OK)
        return true;
    dd_bytes_form(s->err, "daydrip: %s: %s\n", s->words->value[DD_OPTION_OUTPUT], strerror(errno));
    dd_session_exit(s, DD_EXIT_FILE);
    return false;
}

/* To where the results go: the file that is open for them, or standard output. */
static bool hand_on(dd_session *s, const dd_bytes *bytes)
{
    return s->writing ? file_fine(s, dd_file_more(&s->file, bytes->data ? bytes->data : "", bytes->length)) : dd_session_write(s, bytes);
}

/* One thread per chunk of a round; a thread that cannot be started is done here. */
static bool one_round(dd_session *s, chunk *chunks, int count)
{
    pthread_t threads[MOST_JOBS];
    bool started[MOST_JOBS] = {false};
    for (int i = 1; i < count; i++)
        started[i] = pthread_create(&threads[i], NULL, work_chunk, &chunks[i]) == 0;
    work_chunk(&chunks[0]);
    for (int i = 1; i < count; i++) {
        if (started[i])
            pthread_join(threads[i], NULL);
        else
            work_chunk(&chunks[i]);
    }
    for (int i = 0; i < count; i++) {
        if (chunks[i].status != DD_OK || chunks[i].bytes.failed) {
            dd_session_failed(s, chunks[i].status == DD_OK ? DD_NO_MEMORY : chunks[i].status);
            return false;
        }
        if (s->kept)
            dd_bytes_add(s->kept, chunks[i].bytes.data ? chunks[i].bytes.data : "", chunks[i].bytes.length);
        else if (!hand_on(s, &chunks[i].bytes))
            return false;
        dd_bytes_clear(&chunks[i].bytes);
    }
    return true;
}

bool dd_session_each(dd_session *s, dd_session_work *work)
{
    chunk chunks[MOST_JOBS];
    bool fine = true;
    for (int i = 0; i < s->jobs; i++) {
        chunks[i] = (chunk){.session = s, .work = work, .arena = dd_arena_new(), .bytes = DD_BYTES(OUTPUT_CEILING)};
        fine = fine && chunks[i].arena;
    }
    if (!fine)
        dd_session_failed(s, DD_NO_MEMORY);
    if (fine && !s->kept) { /* what stands before the first patient */
        if (goes_to_file(s))
            s->writing = fine = file_fine(s, dd_file_begin(&s->file, s->words->value[DD_OPTION_OUTPUT]));
        else
            dd_progress_streams(&s->progress);
        fine = fine && hand_on(s, s->out);
        dd_bytes_clear(s->out);
    }
    for (size_t from = 0; fine && from < s->view.count;) {
        int count = 0;
        for (; count < s->jobs && from < s->view.count; count++, from += CHUNK) {
            chunks[count].from = from;
            chunks[count].to = from + CHUNK < s->view.count ? from + CHUNK : s->view.count;
        }
        fine = one_round(s, chunks, count);
        dd_progress_patients(&s->progress, from, s->view.count);
    }
    for (int i = 0; i < s->jobs; i++) {
        s->to_clarify += chunks[i].to_clarify;
        dd_arena_free(chunks[i].arena);
        dd_bytes_free(&chunks[i].bytes);
    }
    return fine;
}

bool dd_session_deliver(dd_session *s)
{
    dd_progress_end(&s->progress);
    if (s->out->failed) {
        dd_session_failed(s, DD_NO_MEMORY);
        return false;
    }
    const char *path = s->words->value[DD_OPTION_OUTPUT];
    if (!goes_to_file(s)) {
        bool fine = dd_session_write(s, s->out);
        dd_bytes_clear(s->out);
        return fine;
    }
    bool fine = !s->writing ? file_fine(s, dd_file_write(path, s->out->data ? s->out->data : "", s->out->length, false)) : hand_on(s, s->out);
    if (fine && s->writing) {
        s->writing = false; /* whatever comes of it */
        fine = file_fine(s, dd_file_place(&s->file, false));
    }
    dd_bytes_clear(s->out);
    return fine;
}

void dd_session_not_planned(const dd_session *s, dd_bytes *out)
{
    for (size_t i = 0; i < s->view.count; i++)
        if (s->patients[i]->errors)
            dd_bytes_form(out, "NOT PLANNED: %s, %u error%s\n", s->patients[i]->bed, s->patients[i]->errors, s->patients[i]->errors == 1 ? "" : "s");
}

int dd_session_list(const dd_words *words, dd_bytes *out, dd_bytes *err, const char *title, dd_status head(dd_bytes *out), dd_session_work *work)
{
    dd_session s;
    if (dd_session_begin(&s, words, DD_CLOCK_OR_BEGIN, out, err)) {
        s.bare = words->verb != DD_VERB_CHECK;
        dd_status status = !s.view.csv ? dd_list_head(&s.view, title, out) : s.view.header ? head(out) : DD_OK;
        if (status != DD_OK)
            dd_session_failed(&s, status);
        else if (dd_session_each(&s, work)) {
            if (!s.view.csv && dd_list_end(&s.view, out) != DD_OK)
                dd_session_failed(&s, DD_NO_MEMORY);
            else
                dd_session_deliver(&s);
            if (!s.bare && s.to_clarify)
                dd_session_exit(&s, DD_EXIT_CLARIFY);
        }
    }
    dd_session_end(&s);
    return s.exit_status;
}
