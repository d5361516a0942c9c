/* phrase.h - the small wordings that lists and pages share: volumes, rates, names, findings. Each appends to `out`. */
#ifndef DD_PHRASE_H
#define DD_PHRASE_H

#include "bytes.h"
#include "daydrip/write.h"

/* Decimals of a mL that this patient's pages show: 0 for adults; 1 for younger ones and where the age is not known. */
int dd_phrase_decimals(const dd_patient *patient);
/* What dd_phrase_volume shows, in uL: for telling whether printed parts add up. */
int64_t dd_phrase_shown(const dd_patient *patient, dd_u volume);
void dd_phrase_volume(dd_bytes *out, const dd_patient *patient, dd_u volume); /* the number alone */
void dd_phrase_ul(dd_bytes *out, int64_t ul);     /* an ordered volume, exactly: `1,000 mL`; `?` where unknown */
void dd_phrase_rate(dd_bytes *out, dd_rate rate); /* `23.6 mL/h` */
void dd_phrase_set_rate(dd_bytes *out, dd_set_rate rate); /* `21 drops/min` on a gravity set, else as above */
/* A rate that the order flows at, as its device is set: `21 drops/min`, `80 mL/h`. */
void dd_phrase_rate_of(dd_bytes *out, const dd_timeline *timeline, int order, dd_rate rate);
/* In the night on which a clock occurs twice it says which one is meant: `01:30 (2nd)`. */
void dd_phrase_time(dd_bytes *out, const dd_plan *plan, dd_moment t, dd_moment_style style);
void dd_phrase_span(dd_bytes *out, int64_t seconds);
void dd_phrase_quantity(dd_bytes *out, dd_quantity q); /* `83.3 mL/h`, `15.87 %` */

const char *dd_phrase_bed(const dd_patient *patient); /* the label that pages show */
bool dd_phrase_no_allergy(const dd_patient *patient); /* none is known; false too where nobody said */
void dd_phrase_capitals(dd_bytes *out, const char *text);
void dd_phrase_allergy(dd_bytes *out, const dd_patient *patient); /* `ALLERGY: PENICILLIN`, `... NONE KNOWN`, `... NOT RECORDED` */
/* The age as written; one that a carried plan had to write with decimals, in whole units: under 28 days by day of life passed, under two
 * years in months. Nothing where it is not known. */
void dd_phrase_age(dd_bytes *out, const dd_patient *patient);
void dd_phrase_weight(dd_bytes *out, const dd_patient *patient);  /* `82 kg`, `no weight` */
/* Words of a cell as the user wrote it, with a blank between number and unit: `80 % maintenance`. */
void dd_phrase_spaced(dd_bytes *out, const char *text);

/* What the order is, in a few words: `cefazolin 1 g`, `glucose 5 % with sodium chloride 0.9 %`. */
void dd_phrase_what(dd_bytes *out, const dd_order *order);
/* What it is about, what is wrong, figure and limit: `cefazolin 1 g on left-arm: the dose cannot start inside its window, due
 * Wed 22:00, 95 min (limit 60 min)`. */
void dd_phrase_finding(dd_bytes *out, const dd_timeline *timeline, const dd_finding *finding);
/* The same in fewer words, for a list of several beds: `right-hand: behind its set rate by 40 mL: 288 mL left, should be 248 mL`. */
void dd_phrase_finding_brief(dd_bytes *out, const dd_timeline *timeline, const dd_finding *finding);
/* `brought forward, not in SUM: +410 mL`; nothing where none is. */
void dd_phrase_forward(dd_bytes *out, const dd_patient *patient);
/* A charted entry in a few words: `drip started Wed 15:00`, `right-hand placed Wed 14:40`, `main rate 60 mL/h Wed 16:00`. */
void dd_phrase_event(dd_bytes *out, const dd_timeline *timeline, const dd_event *event);
/* When a bag expires, as it is written in tables: the last day on which it may be used, or a date and clock. */
void dd_phrase_expiry(dd_bytes *out, const dd_plan *plan, dd_moment expires);
/* Where its limit comes from: the rule's source, with the line of a ward's own rule; nothing where it has none. */
void dd_phrase_source(dd_bytes *out, const dd_finding *finding);
/* `NOT PLANNED: bay1-bed2, 1 error`, a line each, of the patients of the view; nothing where there are none. At most `most`
 * of them, then a count. */
void dd_phrase_not_planned(dd_bytes *out, const dd_view *view, size_t most);
/* `made Wed 25 Nov 19:00 (UTC-05:00)` */
void dd_phrase_made(dd_bytes *out, const dd_view *view);
/* `night, Wed 25 Nov 19:00 to Thu 26 Nov 07:00` */
void dd_phrase_view_span(dd_bytes *out, const dd_view *view);
/* `1 entry is later than Wed 19:00 and not counted`, or nothing; of timelines, which may be NULL. Not of entries written down later than a
 * --known that was asked for: the page is then what it would have been. */
bool dd_phrase_later(dd_bytes *out, const dd_view *view, const dd_timeline *const *timelines, size_t count);
/* `the clocks change: this span has 13 h`, or nothing. */
bool dd_phrase_clocks_change(dd_bytes *out, const dd_plan *plan, dd_moment from, dd_moment to);

/* Text under construction: emptied for the next use, and what it holds ("" where memory ran out). */
dd_bytes *dd_phrase_start(dd_bytes *b);
const char *dd_phrase_text(const dd_bytes *b);

#endif
