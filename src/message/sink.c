#include "sink.h"

#include <stdlib.h>
#include <string.h>

/* Longer than what is ever shown of a value (60 characters of at most 4 bytes), so that the cut can be seen. */
#define TEXT_KEPT 400

static const char *keep(dd_sink *sink, const char *text)
{
    if (!text)
        return NULL;
    size_t length = strlen(text);
    char *copy = dd_arena_text(sink->arena, text, length < TEXT_KEPT ? length : TEXT_KEPT);
    if (!copy)
        sink->failed = true;
    return copy;
}

void dd_sink_add(dd_sink *sink, const dd_message *message)
{
    sink->counted[message->table]++;
    if (sink->kept_of[message->table] >= DD_SINK_KEPT)
        return;
    if (!dd_arena_room(sink->arena, &sink->kept, &sink->room, sink->count, sizeof *sink->kept)) {
        sink->failed = true;
        return;
    }
    dd_message copy = *message;
    copy.file = keep(sink, message->file);
    copy.name = keep(sink, message->name);
    copy.value = keep(sink, message->value);
    copy.args[0] = keep(sink, message->args[0]);
    copy.args[1] = keep(sink, message->args[1]);
    copy.order = sink->count;
    sink->kept[sink->count++] = copy;
    sink->kept_of[message->table]++;
}

size_t dd_sink_errors(const dd_sink *sink)
{
    size_t n = 0;
    for (size_t t = 0; t < DD_TABLE_COUNT; t++)
        n += sink->counted[t];
    return n;
}

static int by_place(const void *left, const void *right)
{
    const dd_message *a = left, *b = right;
    if (a->table != b->table)
        return a->table < b->table ? -1 : 1;
    if (a->line != b->line)
        return a->line < b->line ? -1 : 1;
    if (a->from != b->from)
        return a->from < b->from ? -1 : 1;
    return a->order < b->order ? -1 : a->order > b->order;
}

void dd_sink_sort(dd_sink *sink)
{
    if (sink->count > 1)
        qsort(sink->kept, sink->count, sizeof *sink->kept, by_place);
}
