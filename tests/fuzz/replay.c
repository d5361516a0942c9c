/* replay.c - gives a fuzz target the inputs that are kept, one after the other: replay FILE... In place of the fuzzer's own main. */
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include "must.h"

int main(int argc, char **argv)
{
    for (int i = 1; i < argc; i++) {
        FILE *file = fopen(argv[i], "rb");
        if (!file || fseek(file, 0, SEEK_END) != 0) {
            perror(argv[i]);
            return 1;
        }
        long size = ftell(file);
        rewind(file);
        uint8_t *data = malloc(size > 0 ? (size_t)size : 1); /* of just its size, so that reading behind its end is seen */
        if (!data || size < 0 || fread(data, 1, (size_t)size, file) != (size_t)size) {
            perror(argv[i]);
            return 1;
        }
        fclose(file);
        fprintf(stderr, "%s\n", argv[i]); /* the last one named is the one that failed */
        LLVMFuzzerTestOneInput(data, (size_t)size);
        free(data);
    }
    printf("%d inputs\n", argc - 1);
    return argc > 1 ? 0 : 1;
}
