/* verbs.h - one function per verb of verb.def: each gives the exit status. Results go to `out`, messages to `err`; what is in
 * them when a verb comes back is still to be written by the caller. */
#ifndef DD_VERBS_H
#define DD_VERBS_H

#include "words.h"

int dd_schedule_verb(const dd_words *words, dd_bytes *out, dd_bytes *err);
int dd_totals_verb(const dd_words *words, dd_bytes *out, dd_bytes *err);
int dd_pages_verb(const dd_words *words, dd_bytes *out, dd_bytes *err);     /* report */
int dd_reminders_verb(const dd_words *words, dd_bytes *out, dd_bytes *err); /* remind */
int dd_due_verb(const dd_words *words, dd_bytes *out, dd_bytes *err);       /* coming.c, so is gather */
int dd_gather_verb(const dd_words *words, dd_bytes *out, dd_bytes *err);
int dd_label_verb(const dd_words *words, dd_bytes *out, dd_bytes *err);
int dd_check_verb(const dd_words *words, dd_bytes *out, dd_bytes *err);
int dd_rules_verb(const dd_words *words, dd_bytes *out, dd_bytes *err);
int dd_fluids_verb(const dd_words *words, dd_bytes *out, dd_bytes *err);
int dd_bag_verb(const dd_words *words, dd_bytes *out, dd_bytes *err);
int dd_compare_verb(const dd_words *words, dd_bytes *out, dd_bytes *err);
int dd_chart_verb(const dd_words *words, dd_bytes *out, dd_bytes *err);
int dd_explain_verb(const dd_words *words, dd_bytes *out, dd_bytes *err);
void dd_explain_figures(dd_bytes *out); /* what it can explain, a line each */
int dd_meaning_verb(const dd_words *words, dd_bytes *out, dd_bytes *err);   /* explain CODE */
int dd_worked_verb(const dd_words *words, dd_bytes *out, dd_bytes *err);    /* rate, maintenance of a weight */
int dd_sides_verb(const dd_words *words, dd_bytes *out, dd_bytes *err);     /* maintenance */
int dd_new_verb(const dd_words *words, dd_bytes *out, dd_bytes *err);
int dd_carry_verb(const dd_words *words, dd_bytes *out, dd_bytes *err);
int dd_regimen_verb(const dd_words *words, dd_bytes *out, dd_bytes *err);
int dd_schema_verb(const dd_words *words, dd_bytes *out, dd_bytes *err);

#endif
