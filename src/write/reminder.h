/* reminder.h - what one reminder is called and what it says: for calendars, and for the list of what would ring. */
#ifndef DD_REMINDER_H
#define DD_REMINDER_H

#include "arena.h"
#include "bytes.h"
#include "daydrip/visit.h"
#include "daydrip/write.h"
#include "pagecode.h"
#include "uid.h"

typedef struct dd_reminder {
    const dd_view *view;
    const dd_calendar_options *options;
    dd_arena *arena;
    char (*codes)[DD_PAGECODE_SIZE]; /* of the patients' pages; [view->count]: of the ward's. Empty until asked for */
    unsigned char space[16];
    char begins[DD_MOMENT_MAX];
    char scope[2 * 8 + 1];           /* of scope_team: which of its patients were asked for; "" all of the plan's */
    const char *scope_team;
    bool scope_known;
    /* of the visit said last */
    char uid[DD_UID_SIZE];
    dd_bytes title;
    dd_bytes text;                   /* its lines but for the last two, which dd_reminder_end gives */
    const char *code;
    dd_bytes name;                   /* what the UID is made from */
} dd_reminder;

/* DD_BAD_INPUT: the plan has no id that is a UUID (the setting `plan` of ward.csv): without one no reminder could keep its name.
 * DD_NO_MEMORY. Its counterpart is dd_reminder_free, always. */
DD_MUST_USE dd_status dd_reminder_start(dd_reminder *reminder, const dd_view *view, const dd_calendar_options *options, dd_arena *arena);
/* Sets uid, title, text and code. */
DD_MUST_USE dd_status dd_reminder_say(dd_reminder *reminder, const dd_visit *visit);
/* Sets the UID alone. `patient`: of its first task. `everyone`: the visit is one of those of all patients of the plan, not of the view's. */
DD_MUST_USE dd_status dd_reminder_name(dd_reminder *reminder, const dd_visit *visit, const dd_patient *patient, bool everyone);
/* Appends the last two lines of a text: when it was made, and the page code (NULL: not that line, nor the newline before it). */
void dd_reminder_end(dd_bytes *out, const dd_plan *plan, dd_moment made, const char *code);
void dd_reminder_free(dd_reminder *reminder);

#endif
