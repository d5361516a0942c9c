/* gs1.h - a scanned code, taken apart: the element string of the GS1 General Specifications becomes application identifiers and
 * their data. Nothing is guessed: what is not known or does not fit is a fault that says where. */
#ifndef DD_GS1_H
#define DD_GS1_H

#include "daydrip/moment.h"

#define DD_GS1_MOST 200   /* bytes of a code */
#define DD_GS1_PARTS 40   /* application identifiers in one code */

typedef enum dd_gs1_fault {
    DD_GS1_FINE,
    DD_GS1_FORM,      /* empty, too long, or brackets that do not fit */
    DD_GS1_EXPONENT,  /* 1.23E+13: a spreadsheet has changed it */
    DD_GS1_SYMBOL,    /* the prefix is that of a barcode which holds no element string */
    DD_GS1_UNKNOWN,   /* an application identifier that is not in the list */
    DD_GS1_LENGTH,    /* data too short or too long */
    DD_GS1_CHARACTER, /* a character that cannot stand in the data */
    DD_GS1_CHECK,     /* a wrong check digit */
    DD_GS1_DATE,      /* a date or clock that does not exist */
    DD_GS1_TWICE      /* an identifier twice, with different data */
} dd_gs1_fault;

typedef struct dd_gs1_part {
    char ai[5];
    uint8_t row;      /* of gs1_ai.def */
    uint16_t at;      /* where its data begin in `text`; a NUL stands behind them */
} dd_gs1_part;

typedef struct dd_gs1 {
    char text[DD_GS1_MOST + DD_GS1_PARTS];
    dd_gs1_part parts[DD_GS1_PARTS];
    size_t count;
    int year;         /* to which years of two digits are near */
    /* Of a fault: the identifier, what the check digit would be (a digit), what the data should be. */
    char ai[5], check, format[12];
} dd_gs1;

/* Reads an element string with or without brackets round its identifiers. A separator is the byte 0x1d, or ^, which cannot stand
 * in data; one in front and one behind data of predefined length are tolerated. Prefixes are those of ISO/IEC 15424: ]C1 ]e0 ]d2
 * ]Q3 ]J1; a trade item number alone is taken behind ]E0 ]E4 ]I1. `year`: of the plan, 1 to 9999. Never allocates; *out is the
 * caller's. After a fault *out says no more than what is wrong. */
dd_gs1_fault dd_gs1_read(const char *text, size_t length, int year, dd_gs1 *out);

/* The data of an identifier; NULL: it is not there. */
const char *dd_gs1_data(const dd_gs1 *code, const char *ai);
/* What the identifier of a part is, in words. */
const char *dd_gs1_words(const dd_gs1_part *part);
/* Whether its data begin with a date; *out is it, day 00 being the last of its month. The century is the one that puts the year into
 * the 49 years before and the 50 after `year` (section 7.12 of the specifications). */
bool dd_gs1_date(const dd_gs1 *code, const dd_gs1_part *part, dd_civil *out);
/* The first second in which it has expired: after the date of 17, at the clock of 7003, else after the date of 15, best before.
 * DD_NEVER: the code does not say. */
dd_moment dd_gs1_expires(const dd_gs1 *code, const dd_zone *zone);
/* What 7003 says, the clock of the zone; DD_NEVER: it is not there. */
dd_moment dd_gs1_clock(const dd_gs1 *code, const dd_zone *zone);
/* Net volume, uL; DD_UNKNOWN: the code does not say, or says 0. */
int64_t dd_gs1_volume(const dd_gs1 *code);

/* `1.23E+13`, also with a comma: what a spreadsheet makes of a long code. */
bool dd_gs1_is_exponent(const char *text, size_t length);
/* A row of the list, for tests: its identifier without the last digit, that digit's most or -1, its format. False: there is none. */
bool dd_gs1_row(size_t row, const char **head, int *last, const char **format, bool *predefined);

#endif
