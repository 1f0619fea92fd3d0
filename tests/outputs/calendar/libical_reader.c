/* Reads a calendar with libical and the zones that the file itself brings; prints "UID start end" in seconds since 1970 UTC.
   Exits 1 where libical finds an error in the file or a restriction of RFC 5545 broken. */
#include <libical/ical.h>
#include <stdio.h>
#include <stdlib.h>

static char *read_line(char *line, size_t size, void *file) { return fgets(line, (int)size, file); }

static long long seconds(icaltimetype moment) { return (long long)icaltime_as_timet_with_zone(moment, moment.zone); }

int main(int count, char **words)
{
    FILE *file = count == 2 ? fopen(words[1], "rb") : NULL;
    if (!file)
        return 2;
    icalparser *parser = icalparser_new();
    icalparser_set_gen_data(parser, file);
    icalcomponent *calendar = icalparser_parse(parser, read_line);
    if (!calendar || icalcomponent_count_errors(calendar) > 0 || !icalrestriction_check(calendar)) {
        fprintf(stderr, "%s\n", calendar ? icalcomponent_as_ical_string(calendar) : "not a calendar");
        return 1;
    }
    icalcomponent *event = icalcomponent_get_first_component(calendar, ICAL_VEVENT_COMPONENT);
    for (; event; event = icalcomponent_get_next_component(calendar, ICAL_VEVENT_COMPONENT))
        printf("%s %lld %lld\n", icalcomponent_get_uid(event), seconds(icalcomponent_get_dtstart(event)), seconds(icalcomponent_get_dtend(event)));
    icalcomponent_free(calendar);
    icalparser_free(parser);
    fclose(file);
    return 0;
}
