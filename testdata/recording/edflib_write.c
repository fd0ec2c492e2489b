/* cc -O2 -o edflib_write edflib_write.c -ledf && ./edflib_write    (Debian: libedf-dev)
 *
 * Writes, into the current folder, small files by means of EDFlib and the numbers
 * that were put into them:
 *
 *   continuous.edf  EDF+C: three rates, records of 0.5 s, two annotation signals,
 *                   the first sample 0.25 s after the header's start
 *   gaps.edf        the same as EDF+D with a gap of 7 s after the third record;
 *                   EDFlib writes no EDF+D: the mark in the header and the times of
 *                   the last three records are changed here
 *   plain.edf       the same samples as plain EDF, laid out here; EDFlib reads it
 *   samples.tsv     signal, sample, digital value as written, and the physical value
 *                   that EDFlib reads
 *   events.tsv      onset from the header's start, duration, text; a negative duration
 *                   means none. EDFlib takes onsets from the first sample, 0.25 s later.
 *                   In gaps.edf the fourth event lies in the gap, the fifth after it.
 */
#include <edflib.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SIGNALS = 3, RECORDS = 6 };

static const struct {
  const char *label, *transducer, *unit, *prefilter;
  double low, high;
  int least, most, samples;
} signals[SIGNALS] = {
    {"EEG Fpz-Cz", "AgAgCl electrode", "uV", "HP:0.1Hz LP:75Hz", -32768, 32767, -32768, 32767, 80},
    {"EEG P8-A2", "AgAgCl electrode", "uV", "", -500, 500, -32768, 32767, 40},
    {"Resp nasal", "thermistor", "mV", "", 200, -200, -2048, 2047, 5},
};

static const struct {
  long long onset, duration; /* in 0.1 ms */
  const char *text;
} events[] = {
    {2500, -1, "known"},
    {7501, 2000, "novel"},
    {12500, -1, "Z\xc3\xa4hler \xe2\x86\x92 12"},
    {26543, 1, "known"},
    {87500, -1, "novel"},
};
enum { EVENTS = sizeof events / sizeof *events };

static short digital[SIGNALS][RECORDS * 80];

static void stop(const char *what) {
  fprintf(stderr, "%s failed\n", what);
  exit(1);
}

static void must(int result, const char *what) {
  if (result) stop(what);
}

static void invent(void) {
  unsigned state = 1;
  for (int s = 0; s < SIGNALS; s++)
    for (int i = 0; i < RECORDS * signals[s].samples; i++) {
      int range = signals[s].most - signals[s].least + 1;
      state = state * 1664525u + 1013904223u;
      digital[s][i] = signals[s].least + (int)((state >> 8) % (unsigned)range);
    }
  for (int s = 0; s < SIGNALS; s++) {
    digital[s][0] = signals[s].least;
    digital[s][1] = signals[s].most;
    digital[s][2] = 0;
  }
}

static void write_continuous(const char *name) {
  int f = edfopen_file_writeonly(name, EDFLIB_FILETYPE_EDFPLUS, SIGNALS);
  if (f < 0) stop("open");
  must(edf_set_datarecord_duration(f, 50000), "duration");
  must(edf_set_number_of_annotation_signals(f, 2), "annotation signals");
  must(edf_set_startdatetime(f, 2021, 3, 4, 15, 16, 17), "start");
  must(edf_set_subsecond_starttime(f, 2500000), "subsecond");
  must(edf_set_patientcode(f, "H-07"), "patient code");
  must(edf_set_equipment(f, "synthetic"), "equipment");
  for (int s = 0; s < SIGNALS; s++) {
    must(edf_set_samplefrequency(f, s, signals[s].samples), "samples");
    must(edf_set_physical_minimum(f, s, signals[s].low), "low");
    must(edf_set_physical_maximum(f, s, signals[s].high), "high");
    must(edf_set_digital_minimum(f, s, signals[s].least), "least");
    must(edf_set_digital_maximum(f, s, signals[s].most), "most");
    must(edf_set_label(f, s, signals[s].label), "label");
    must(edf_set_transducer(f, s, signals[s].transducer), "transducer");
    must(edf_set_physical_dimension(f, s, signals[s].unit), "unit");
    must(edf_set_prefilter(f, s, signals[s].prefilter), "prefilter");
  }
  for (int r = 0; r < RECORDS; r++)
    for (int s = 0; s < SIGNALS; s++)
      must(edfwrite_digital_short_samples(f, digital[s] + r * signals[s].samples), "samples");
  for (int e = 0; e < EVENTS; e++)
    must(edfwrite_annotation_utf8(f, events[e].onset, events[e].duration, events[e].text), "event");
  must(edfclose_file(f), "close");
}

/* Reads a whole file; returns its length. */
static long slurp(const char *name, char *buffer, long room) {
  FILE *f = fopen(name, "rb");
  if (!f) stop(name);
  long n = fread(buffer, 1, room, f);
  fclose(f);
  return n;
}

static void write_gaps(const char *name, const char *from) {
  static char b[1 << 16];
  static const char *times[][2] = {{"+1.7500000", "+8.7500000"}, {"+2.2500000", "+9.2500000"}, {"+2.7500000", "+9.7500000"}};
  long n = slurp(from, b, sizeof b);
  memcpy(b + 192, "EDF+D", 5);
  for (int i = 0; i < 3; i++) {
    char want[16] = {0};
    int length = strlen(times[i][0]), found = 0;
    memcpy(want, times[i][0], length);
    want[length] = want[length + 1] = 20;
    for (long k = 0; k + length + 2 <= n; k++)
      if (!memcmp(b + k, want, length + 2)) {
        memcpy(b + k, times[i][1], length);
        found++;
      }
    if (found != 1) stop("finding a record's time");
  }
  FILE *f = fopen(name, "wb");
  if (!f || fwrite(b, 1, n, f) != (size_t)n || fclose(f)) stop(name);
}

static void write_plain(const char *name) {
  FILE *f = fopen(name, "wb");
  if (!f) stop(name);
  fprintf(f, "%-8s%-80s%-80s%-8s%-8s%-8d%-44s%-8d%-8s%-4d", "0", "code H-07", "synthetic", "04.03.21", "15.16.17",
          256 * (SIGNALS + 1), "", RECORDS, "0.5", SIGNALS);
#define COLUMN(format, value) for (int s = 0; s < SIGNALS; s++) fprintf(f, format, value)
  COLUMN("%-16s", signals[s].label);
  COLUMN("%-80s", signals[s].transducer);
  COLUMN("%-8s", signals[s].unit);
  COLUMN("%-8g", signals[s].low);
  COLUMN("%-8g", signals[s].high);
  COLUMN("%-8d", signals[s].least);
  COLUMN("%-8d", signals[s].most);
  COLUMN("%-80s", signals[s].prefilter);
  COLUMN("%-8d", signals[s].samples);
  COLUMN("%-32s", s < 0 ? "-" : "");
  for (int r = 0; r < RECORDS; r++)
    for (int s = 0; s < SIGNALS; s++)
      fwrite(digital[s] + r * signals[s].samples, 2, signals[s].samples, f); /* on a little-endian machine */
  if (fclose(f)) stop(name);
}

/* Compares the digital samples that EDFlib reads with those that were written. */
static void verify(const char *name, FILE *table) {
  struct edf_hdr_struct h;
  if (edfopen_file_readonly(name, &h, EDFLIB_READ_ALL_ANNOTATIONS)) {
    fprintf(stderr, "%s: EDFlib does not read it (%d)\n", name, h.filetype);
    return;
  }
  for (int s = 0; s < SIGNALS; s++) {
    int n = RECORDS * signals[s].samples, back[RECORDS * 80];
    double physical[RECORDS * 80];
    if (edfread_digital_samples(h.handle, s, n, back) != n) stop("read");
    edfrewind(h.handle, s);
    if (edfread_physical_samples(h.handle, s, n, physical) != n) stop("read");
    for (int i = 0; i < n; i++) {
      if (back[i] != digital[s][i]) stop("comparison");
      if (table) fprintf(table, "%d\t%d\t%d\t%.17g\n", s, i, digital[s][i], physical[i]);
    }
  }
  fprintf(stderr, "%s: type %d, %d signals, %lld records, %lld annotations read back\n", name, h.filetype, h.edfsignals,
          h.datarecords_in_file, h.annotations_in_file);
  edfclose_file(h.handle);
}

int main(void) {
  FILE *f = fopen("events.tsv", "w");
  if (!f) stop("events.tsv");
  fprintf(f, "onset\tduration\ttext\n");
  for (int e = 0; e < EVENTS; e++)
    fprintf(f, "%.4f\t%.4f\t%s\n", (events[e].onset + 2500) * 1e-4, events[e].duration * 1e-4, events[e].text);
  fclose(f);

  invent();
  write_continuous("continuous.edf");
  write_gaps("gaps.edf", "continuous.edf");
  write_plain("plain.edf");
  if (!(f = fopen("samples.tsv", "w"))) stop("samples.tsv");
  fprintf(f, "signal\tsample\tdigital\tphysical\n");
  verify("continuous.edf", f);
  fclose(f);
  verify("plain.edf", NULL);
  verify("gaps.edf", NULL);
  return 0;
}
