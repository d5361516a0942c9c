/* sides.c - the verb `maintenance`: of a weight (maintenance.c), or of a plan, patients side by side. */
#include <string.h>
#include <sys/stat.h>

#include "session.h"
#include "verbs.h"

static dd_status one_patient(const dd_session *s, const dd_timeline *timeline, dd_arena *arena, dd_bytes *out)
{
    dd_sums sums;
    dd_status status = dd_timeline_sums(timeline, s->plan->begins, s->plan->end, arena, &sums);
    return status == DD_OK ? dd_beside_rows(timeline, &sums, out) : status;
}

static int of_plan(const dd_words *words, dd_bytes *out, dd_bytes *err)
{
    const char *format = words->value[DD_OPTION_FORMAT];
    dd_session s;
    if (format && strcmp(format, "csv") == 0)
        return dd_session_list(words, out, err, "", dd_beside_rows_head, one_patient);
    if (dd_session_begin(&s, words, DD_CLOCK_OR_BEGIN, out, err) && dd_session_timelines(&s)) {
        dd_status status = dd_beside_write(&s.view, out);
        if (status != DD_OK)
            dd_session_failed(&s, status);
        else
            dd_session_deliver(&s);
    }
    dd_session_end(&s);
    return s.exit_status;
}

static bool is_weight(const char *word)
{
    dd_quantity q;
    return dd_quantity_read(word, strlen(word), DD_TAKES_MASS, false, &q, NULL) == DD_QF_NONE;
}

/* A number, with or without letters, that is no folder: a weight that somebody wrote wrongly, and is to be told so. */
static bool is_meant_as_weight(const char *word)
{
    struct stat there;
    size_t number = strspn(word, "0123456789., ");
    size_t letters = strspn(word + number, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ");
    return strcspn(word, "0123456789") < number && word[number + letters] == '\0' && stat(word, &there) != 0;
}

int dd_sides_verb(const dd_words *words, dd_bytes *out, dd_bytes *err)
{
    const char *word = words->rest_count == 1 ? words->rest[0] : NULL;
    if (!word || !(is_weight(word) || is_meant_as_weight(word)))
        return of_plan(words, out, err);
    for (int i = 0; i < DD_OPTION_COUNT; i++)
        if (i != DD_OPTION_FORMAT && (words->value[i] || (i == DD_OPTION_PATIENT && words->patients)))
            return dd_words_wrong(err, words, "\"%.60s\" is a weight, which takes no option but --format", word);
    return dd_worked_verb(words, out, err);
}
