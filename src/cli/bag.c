/* bag.c - `bag BED ORDER CODE`: a scanned code held against the order, its bag and bags.csv. */
#include <string.h>

#include "asked.h"
#include "daydrip/status.h"
#include "list.h"
#include "nearest.h"
#include "scan.h"
#include "scanned.h"
#include "session.h"
#include "verbs.h"

/* The patient of a bed or key. NULL: said. */
static const dd_patient *find_patient(dd_session *s, const char *word)
{
    dd_nearest nearest = dd_nearest_begin(word, strlen(word));
    const dd_patient *found = NULL;
    for (size_t i = 0; i < s->plan->patient_count; i++) {
        const dd_patient *p = &s->plan->patients[i];
        bool is = strcmp(p->key, word) == 0 || strcmp(p->bed, word) == 0;
        if (is && found) {
            dd_session_exit(s, dd_words_wrong(s->err, s->words, "\"%.60s\" is the bed of one patient and the key of another", word));
            return NULL;
        }
        found = is ? p : found;
        dd_nearest_offer(&nearest, p->bed, strlen(p->bed));
        dd_nearest_offer(&nearest, p->key, strlen(p->key));
    }
    if (!found)
        dd_session_exit(s, dd_words_wrong(s->err, s->words, "\"%.60s\" is no bed and no patient of this plan%s%.60s", word, nearest.best ? "; the nearest is " : "",
                                          nearest.best ? nearest.best : ""));
    return found;
}

/* Index of an order; -1: said. */
static int find_order(dd_session *s, const dd_patient *p, const char *key)
{
    dd_nearest nearest = dd_nearest_begin(key, strlen(key));
    for (int i = 0; i < p->order_count; i++) {
        if (strcmp(p->orders[i].key, key) == 0)
            return i;
        dd_nearest_offer(&nearest, p->orders[i].key, strlen(p->orders[i].key));
    }
    dd_session_exit(s, dd_words_wrong(s->err, s->words, "%.40s has no order \"%.60s\"%s%.60s", p->bed, key, nearest.best ? "; the nearest is " : "",
                                      nearest.best ? nearest.best : ""));
    return -1;
}

/* Reads CODE. False: said. */
static bool read_code(dd_session *s, const char *text, dd_gs1 *code, dd_stock *stock)
{
    dd_asked a = {.verb = "bag", .err = s->err};
    dd_scan_fault fault;
    text += strspn(text, " \t\r\n");
    size_t length = strlen(text);
    while (length && strchr(" \t\r\n", text[length - 1]))
        length--;
    char *trimmed = dd_arena_text(s->arena, text, length);
    *stock = (dd_stock){.order = -1, .expires = DD_NEVER, .code_expires = DD_NEVER, .volume_ul = DD_UNKNOWN, .code_volume_ul = DD_UNKNOWN};
    if (!trimmed || (dd_scan_code(trimmed, length, s->plan->zone, dd_scan_year(s->plan), s->arena, stock, &fault) && fault.id == DD_MSG_COUNT)) {
        dd_session_failed(s, DD_NO_MEMORY);
        return false;
    }
    if (dd_gs1_read(trimmed, length, dd_scan_year(s->plan), code) == DD_GS1_FINE)
        return true;
    dd_asked_message(&a, "CODE", fault.id, trimmed, fault.first, fault.second);
    dd_session_exit(s, dd_asked_end(&a));
    return false;
}

static void hold(dd_session *s, const dd_patient *p, int order, const dd_gs1 *code, const dd_stock *stock)
{
    dd_timeline t;
    dd_hold h;
    dd_status status = dd_timeline_make(s->plan, p, s->view.now, s->view.known, s->arena, &t);
    if (status == DD_OK) {
        dd_hold_make(&t, order, stock, &h);
        dd_scanned scanned = {.timeline = &t, .code = code, .hold = &h, .order = order};
        s->patients[0] = p;
        s->view.count = 1;
        if (s->view.csv) {
            status = dd_scanned_rows(&scanned, s->out);
        } else {
            status = dd_list_head(&s->view, "BAG", s->out);
            status = status == DD_OK ? dd_scanned_list(&s->view, &scanned, s->out) : status;
            status = status == DD_OK ? dd_list_end(&s->view, s->out) : status;
        }
    }
    if (status != DD_OK)
        dd_session_failed(s, status);
    else if (dd_session_deliver(s) && dd_hold_fault(&h))
        dd_session_exit(s, DD_EXIT_CLARIFY);
}

int dd_bag_verb(const dd_words *words, dd_bytes *out, dd_bytes *err)
{
    dd_session s;
    dd_gs1 code;
    dd_stock stock;
    if (words->rest_count != 3)
        return dd_words_wrong(err, words, "say a bed, an order and the scanned code, such as bay1-bed2 main \"(01)09521234000013(17)270531(10)LF1042A\"");
    if (dd_session_begin(&s, words, DD_CLOCK_OR_BEGIN, out, err)) {
        const dd_patient *p = find_patient(&s, words->rest[0]);
        if (p && p->errors) {
            dd_bytes_form(err, "daydrip: %s is not planned because of its errors; nothing was held against its orders\n", p->bed);
            dd_session_exit(&s, DD_EXIT_PLAN);
        } else if (p) {
            int order = find_order(&s, p, words->rest[1]);
            if (order >= 0 && read_code(&s, words->rest[2], &code, &stock))
                hold(&s, p, order, &code, &stock);
        }
    }
    dd_session_end(&s);
    return s.exit_status;
}
