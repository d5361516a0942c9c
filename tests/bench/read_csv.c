/* read_csv.c - the yardstick: what plain libcsv takes to read a file, cells and rows counted. Prints seconds by the clock and of the
 * processor, rows, cells. */
#include <csv.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

static size_t cells, rows;

static void cell(void *data, size_t length, void *context)
{
    (void)data, (void)length, (void)context;
    cells++;
}

static void row(int end, void *context)
{
    (void)end, (void)context;
    rows++;
}

static double seconds(struct timespec from, struct timespec to)
{
    return (double)(to.tv_sec - from.tv_sec) + (double)(to.tv_nsec - from.tv_nsec) / 1e9;
}

int main(int argc, char **argv)
{
    static char buffer[1 << 20];
    struct csv_parser parser;
    FILE *file = argc > 1 ? fopen(argv[1], "rb") : NULL;
    if (!file || csv_init(&parser, CSV_STRICT | CSV_STRICT_FINI) != 0)
        return 1;
    struct timespec from, to, worked_from, worked_to;
    clock_gettime(CLOCK_MONOTONIC, &from);
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &worked_from);
    for (size_t n; (n = fread(buffer, 1, sizeof buffer, file)) > 0;)
        if (csv_parse(&parser, buffer, n, cell, row, NULL) != n)
            return 1;
    csv_fini(&parser, cell, row, NULL);
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &worked_to);
    clock_gettime(CLOCK_MONOTONIC, &to);
    csv_free(&parser);
    fclose(file);
    printf("%.6f %.6f %zu %zu\n", seconds(from, to), seconds(worked_from, worked_to), rows, cells);
    return 0;
}
