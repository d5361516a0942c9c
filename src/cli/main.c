/* main.c - the command: words in, one verb, bytes out, an exit status. */
#include <signal.h>
#include <stdio.h>
#include <string.h>

#include "daydrip/status.h"
#include "arena.h"
#include "file.h"
#include "verbs.h"

#define MOST_OUTPUT ((size_t)2 << 30)
#define MOST_MESSAGES ((size_t)64 << 20)

static int (*const verbs[])(const dd_words *, dd_bytes *, dd_bytes *) = {
    [DD_VERB_REPORT] = dd_pages_verb,
    [DD_VERB_DUE] = dd_due_verb,
    [DD_VERB_CHART] = dd_chart_verb,
    [DD_VERB_CHECK] = dd_check_verb,
    [DD_VERB_REMIND] = dd_reminders_verb,
    [DD_VERB_EXPLAIN] = dd_explain_verb,
    [DD_VERB_NEW] = dd_new_verb,
    [DD_VERB_SCHEDULE] = dd_schedule_verb,
    [DD_VERB_TOTALS] = dd_totals_verb,
    [DD_VERB_CARRY] = dd_carry_verb,
    [DD_VERB_RULES] = dd_rules_verb,
    [DD_VERB_RATE] = dd_worked_verb,
    [DD_VERB_MAINTENANCE] = dd_sides_verb,
    [DD_VERB_SCHEMA] = dd_schema_verb,
    [DD_VERB_GATHER] = dd_gather_verb,
    [DD_VERB_LABEL] = dd_label_verb,
    [DD_VERB_FLUIDS] = dd_fluids_verb,
    [DD_VERB_BAG] = dd_bag_verb,
    [DD_VERB_COMPARE] = dd_compare_verb,
    [DD_VERB_REGIMEN] = dd_regimen_verb,
};

/* Leaves no temporary file behind, then ends as the signal would have. */
static void abandon(int signal_number)
{
    dd_file_abandon();
    signal(signal_number, SIG_DFL);
    raise(signal_number);
}

int main(int argc, char **argv)
{
    dd_words words = {0};
    dd_bytes out = DD_BYTES(MOST_OUTPUT), err = DD_BYTES(MOST_MESSAGES);
    signal(SIGINT, abandon);
    signal(SIGTERM, abandon);
    signal(SIGXFSZ, SIG_IGN); /* a file that may not grow is a write error too */
    signal(SIGPIPE, SIG_IGN); /* a reader that goes away is a write error, and said */
    int status = dd_words_read(argc, argv, &words, &out, &err) ? verbs[words.verb](&words, &out, &err) : words.exit_status;
    if (err.length)
        fwrite(err.data, 1, err.length, stderr);
    if (dd_arena_starved()) { /* a word may be missing, and there may have been none left to say so */
        status = DD_EXIT_FILE;
        if (words.verb != DD_VERB_CHART) /* what is charted is charted, and said */
            out.length = 0;
        if (err.length == 0 || !strstr(err.data, "not enough memory"))
            fputs("daydrip: not enough memory\n", stderr);
    }
    if (out.length && fwrite(out.data, 1, out.length, stdout) != out.length)
        status = status == DD_EXIT_USAGE ? status : DD_EXIT_FILE;
    if (fflush(stdout) != 0) {
        perror("daydrip: standard output");
        status = status == DD_EXIT_USAGE ? status : DD_EXIT_FILE;
    }
    dd_words_free(&words);
    dd_bytes_free(&out);
    dd_bytes_free(&err);
    return status;
}
