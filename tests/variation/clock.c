/* Preloaded, it puts the clock of the day forward by CLOCK_AHEAD seconds; the clock that waits go by stays. */
#define _GNU_SOURCE
#include <stdlib.h>
#include <sys/syscall.h>
#include <sys/time.h>
#include <time.h>
#include <unistd.h>

static time_t ahead(void)
{
    const char *text = getenv("CLOCK_AHEAD");
    return text ? atol(text) : 0;
}

int clock_gettime(clockid_t clock, struct timespec *now)
{
    int failed = syscall(SYS_clock_gettime, clock, now);
    if (!failed && clock == CLOCK_REALTIME)
        now->tv_sec += ahead();
    return failed;
}

int gettimeofday(struct timeval *restrict now, void *restrict zone)
{
    struct timespec exact;
    (void)zone;
    int failed = clock_gettime(CLOCK_REALTIME, &exact);
    now->tv_sec = exact.tv_sec;
    now->tv_usec = exact.tv_nsec / 1000;
    return failed;
}

time_t time(time_t *place)
{
    struct timespec exact;
    clock_gettime(CLOCK_REALTIME, &exact);
    if (place)
        *place = exact.tv_sec;
    return exact.tv_sec;
}
