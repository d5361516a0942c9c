/* schema.h - the tables as a Table Schema (Frictionless), from the list that the reader uses. */
#ifndef DD_SCHEMA_H
#define DD_SCHEMA_H

#include "bytes.h"

/* Appends a Data Package with one resource for each table. */
void dd_schema_write(dd_bytes *out);

#endif
