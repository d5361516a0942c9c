#include "schema.h"
#include "session.h"
#include "verbs.h"

int dd_schema_verb(const dd_words *words, dd_bytes *out, dd_bytes *err)
{
    dd_session s = {.words = words, .out = out, .err = err};
    dd_schema_write(out);
    dd_session_deliver(&s);
    return s.exit_status;
}
