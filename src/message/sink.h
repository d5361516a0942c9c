/* sink.h - messages, collected.
 *
 * The sink is an argument wherever something can be wrong. It keeps what was reported, in its arena, and knows nothing of
 * how it is shown (show.h). Of one table at most DD_SINK_KEPT messages are kept; all are counted. */
#ifndef DD_SINK_H
#define DD_SINK_H

#include <stdbool.h>

#include "arena.h"
#include "daydrip/message.h"

typedef enum dd_message_id {
#define MESSAGE(id, code, what, expected, manual) DD_MSG_##id,
#include "message.def"
#undef MESSAGE
    DD_MSG_COUNT
} dd_message_id;

/* One message. Texts given to dd_sink_add are copied, cut where they are very long; `raw` is not: it must live as long as
 * the sink. */
typedef struct dd_message {
    const char *file;     /* file name of the table as seen from the plan folder */
    const char *name;     /* column, or what else the message is about */
    const char *value;    /* what was written; NULL: there is none to show */
    const char *args[2];  /* {1} and {2}; may be NULL */
    const char *raw;      /* the physical line, without its end; NULL: no excerpt */
    size_t raw_length;    /* bytes */
    size_t from, length;  /* bytes of the field in raw, its quotes included; length 0: one caret */
    uint32_t line;        /* physical line, from 1 */
    dd_message_id id;
    uint8_t table;        /* dd_table; where it stands among the messages */
    size_t order;         /* filled by the sink: keeps messages of one place in the order in which they came */
} dd_message;

#define DD_SINK_KEPT 2000 /* messages kept of one table */

typedef struct dd_sink {
    dd_arena *arena;
    dd_message *kept;
    size_t count, room;
    size_t counted[DD_TABLE_COUNT]; /* all, kept or not */
    size_t kept_of[DD_TABLE_COUNT];
    bool failed;                    /* a message could not be kept for want of memory */
} dd_sink;

#define DD_SINK(memory) ((dd_sink){.arena = (memory)})

void dd_sink_add(dd_sink *sink, const dd_message *message);
size_t dd_sink_errors(const dd_sink *sink); /* of all tables */
/* By table, line, column, then as they came. */
void dd_sink_sort(dd_sink *sink);

#endif
