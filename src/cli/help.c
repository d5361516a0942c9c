#include "help.h"
#include "regimen_words.h"
#include "verbs.h"

#include <stdio.h>
#include <string.h>

#include "zone.h"

static const struct verb_row { const char *name, *after; int groups; bool everyday; const char *what; } verbs[] = {
#define VERB(id, name, after, groups, everyday, what) {name, after, groups, everyday, what},
#include "verb.def"
#undef VERB
};

static const struct option_row { const char *name, *argument; int verbs; const char *what; } options[] = {
#define OPTION(id, name, argument, verbs, what) {name, argument, verbs, what},
#include "option.def"
#undef OPTION
};

#define CAUTION "A plan only: orders, records, labels, local policy and the second check of a\nlicensed person stand above it. It doses nobody and drives no pump.\n"

/* The forms of an entry, each with one that can be typed as it stands. */
#define CHART_FORMS \
    "\n" \
    "daydrip chart BED ORDER EVENT [VALUE]      bay1-bed2 drip rate 24 gtt/min\n" \
    "  verified started paused resumed stopped omitted\n" \
    "  rate 80 mL/h, hung [500 mL], reading given 437 mL, reading left 120 mL,\n" \
    "  moved LINE\n" \
    "daydrip chart BED LINE EVENT [VALUE]       bay1-bed2 left-arm checked clean\n" \
    "  placed removed dressed set-changed\n" \
    "  checked clean, red, swollen, painful or leaking\n" \
    "daydrip chart BED intake WHAT VOLUME       bay1-bed2 intake oral 150 mL\n" \
    "  oral feed other\n" \
    "daydrip chart BED output WHAT VOLUME       bay1-bed2 output urine unmeasured\n" \
    "  urine stool vomit gastric drain blood other\n" \
    "daydrip chart BED weighed WEIGHT           bay1-bed2 weighed 8.9 kg\n" \
    "daydrip chart BED ENTRY struck             bay1-bed2 e-0007 struck\n" \
    "daydrip chart --from -                     one such line per line, all or none\n" \
    "\n" \
    "BED is a bed or a patient's key. A clock in --at is the last one up to now, in\n" \
    "--due the last one up to --at. What was charted is never changed: strike it and\n" \
    "chart what is true. A line of --from may have --at, --due, --by and --note of its\n" \
    "own, and texts in quotes.\n"

static void list_verbs(dd_bytes *out, bool everyday)
{
    for (int i = 0; i < DD_VERB_COUNT; i++)
        if (verbs[i].everyday == everyday) {
            char name[64];
            snprintf(name, sizeof name, "%s %s", verbs[i].name, verbs[i].after);
            dd_bytes_form(out, "  %-20s  %s\n", name, verbs[i].what);
        }
}

void dd_help_all(dd_bytes *out)
{
    dd_bytes_text(out, "daydrip VERB [PLAN] [options]\n\nWhich bag hangs when, at what rate, when it runs dry, what interrupts what.\n" CAUTION "\nEvery day:\n");
    list_verbs(out, true);
    dd_bytes_text(out, "\nAlso:\n");
    list_verbs(out, false);
    dd_bytes_text(out, "\nPLAN is a plan folder, the current one where not said. daydrip VERB --help\nsays more.\n");
}

void dd_help_verb(dd_verb verb, dd_bytes *out)
{
    const struct verb_row *v = &verbs[verb];
    dd_bytes_form(out, "daydrip %s%s%s [options]\n\n%s\n", v->name, *v->after ? " " : "", v->after, v->what);
    if (v->groups & (PLANS | CARRY))
        dd_bytes_text(out, CAUTION);
    dd_bytes_char(out, '\n');
    for (int i = 0; i < DD_OPTION_COUNT; i++) {
        if (!(options[i].verbs & (v->groups | ALL)))
            continue;
        char name[64];
        snprintf(name, sizeof name, "--%s%s%s", options[i].name, *options[i].argument ? " " : "", options[i].argument);
        dd_bytes_form(out, "  %-22s  %s\n", name, options[i].what);
    }
    if (verb == DD_VERB_EXPLAIN) {
        dd_bytes_text(out, "\nCODE stands in brackets behind a message. BED is followed by one of these; ORDER may\nbe a line too, PERIOD is an hour such as 15, a shift, or all:\n\n");
        dd_explain_figures(out);
    }
    if (verb == DD_VERB_CHART)
        dd_bytes_text(out, CHART_FORMS);
    if (verb == DD_VERB_FLUIDS)
        dd_bytes_text(out, "\nWithout PLAN it is what is built in; no folder is looked at.\n");
    if (verb == DD_VERB_REGIMEN) {
        dd_bytes_text(out, "\nNAME, with what --source can be:\n\n");
        dd_regimen_names(out);
    }
    if (verb == DD_VERB_REMIND)
        dd_bytes_text(out, "\nMake a calendar of its own for each shift, and remove it when the shift is over:\nmost calendars do not take changes from a file they have read once. The one way on\nwhich changes arrive is a calendar server, with a sync tool that carries the folder\nof --split there.\n");
}

void dd_help_version(dd_bytes *out)
{
    char zones[32];
    dd_zone_data_version(zones, sizeof zones);
    dd_bytes_form(out, "daydrip %s, time-zone data %s\n", DAYDRIP_VERSION, zones);
}
