/* cc -O2 -o bdf_write bdf_write.c -ledf && ./bdf_write    (Debian: libedf-dev)
 *
 * Writes, into the current folder, small files of 24 bits by means of EDFlib and
 * the numbers that were put into them:
 *
 *   continuous.bdf   BDF+C: two rates and a status channel, records of 0.25 s, two
 *                    annotation signals, the first sample 0.5 s after the header's start
 *   gaps.bdf         the same as BDF+D with a gap of 3 s after the fourth record;
 *                    EDFlib writes no BDF+D: the mark in the header and the times of
 *                    the last four records are changed here
 *   plain.bdf        the same samples as plain BDF, laid out here; EDFlib reads it
 *   samples24.tsv    signal, sample, digital value as written, and the physical value
 *                    that EDFlib reads
 *
 * The status channel holds a code in bits 0 to 15 and other flags above them:
 * bit 16 in the first sample, bit 20 throughout. The codes are 5 in samples 20 to
 * 29, 255 in 60 to 63, 254 in 64 to 67, 65535 in sample 100 and 1 from 180 on.
 */
#include <edflib.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SIGNALS = 3, RECORDS = 8, LEAST = -8388608, MOST = 8388607, STATUS = 2 };

static const struct {
  const char *label, *transducer, *unit, *prefilter;
  double low, high;
  int least, most, samples;
} signals[SIGNALS] = {
    {"Fpz", "active electrode", "uV", "DC; 104 Hz", -262144, 262143, LEAST, MOST, 64},
    {"EXG1", "", "mV", "", 187.5, -187.5, -1000000, 1000000, 32},
    {"Status", "Triggers and Status", "Boolean", "", LEAST, MOST, LEAST, MOST, 64},
};

static int digital[SIGNALS][RECORDS * 64];

static void stop(const char *what) {
  fprintf(stderr, "%s failed\n", what);
  exit(1);
}

static void must(int result, const char *what) {
  if (result) stop(what);
}

static int code(int i) {
  if (i >= 20 && i < 30) return 5;
  if (i >= 60 && i < 64) return 255;
  if (i >= 64 && i < 68) return 254;
  if (i == 100) return 65535;
  return i >= 180;
}

static void invent(void) {
  unsigned state = 7;
  for (int s = 0; s < STATUS; s++) {
    for (int i = 0; i < RECORDS * signals[s].samples; i++) {
      unsigned range = (unsigned)(signals[s].most - signals[s].least) + 1;
      state = state * 1664525u + 1013904223u;
      digital[s][i] = signals[s].least + (int)((state >> 4) % range);
    }
    digital[s][0] = signals[s].least;
    digital[s][1] = signals[s].most;
    digital[s][2] = 0;
    digital[s][3] = -1;
  }
  for (int i = 0; i < RECORDS * 64; i++) digital[STATUS][i] = code(i) | 1 << 20 | (i == 0) << 16;
}

static void write_continuous(const char *name) {
  int f = edfopen_file_writeonly(name, EDFLIB_FILETYPE_BDFPLUS, SIGNALS);
  if (f < 0) stop("open");
  must(edf_set_datarecord_duration(f, 25000), "duration");
  must(edf_set_number_of_annotation_signals(f, 2), "annotation signals");
  must(edf_set_startdatetime(f, 2022, 5, 6, 7, 8, 9), "start");
  must(edf_set_subsecond_starttime(f, 5000000), "subsecond");
  must(edf_set_patientcode(f, "H-09"), "patient code");
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
      must(edfwrite_digital_samples(f, digital[s] + r * signals[s].samples), "samples");
  must(edfwrite_annotation_utf8(f, 1000, -1, "known"), "event"); /* 0.1 s after the first sample */
  must(edfwrite_annotation_utf8(f, 12345, 5000, "novel \xe2\x86\x92 12"), "event");
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
  static const char *times[][2] = {{"+1.5000000", "+4.5000000"}, {"+1.7500000", "+4.7500000"},
                                   {"+2.0000000", "+5.0000000"}, {"+2.2500000", "+5.2500000"}};
  long n = slurp(from, b, sizeof b);
  memcpy(b + 192, "BDF+D", 5);
  for (int i = 0; i < 4; i++) {
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
  fprintf(f, "\xff%-7s%-80s%-80s%-8s%-8s%-8d%-44s%-8d%-8s%-4d", "BIOSEMI", "code H-09", "synthetic", "06.05.22",
          "07.08.09", 256 * (SIGNALS + 1), "24BIT", RECORDS, "0.25", SIGNALS);
#define COLUMN(format, value) for (int s = 0; s < SIGNALS; s++) fprintf(f, format, value)
  COLUMN("%-16s", signals[s].label);
  COLUMN("%-80s", signals[s].transducer);
  COLUMN("%-8s", signals[s].unit);
  COLUMN("%-8.8g", signals[s].low);
  COLUMN("%-8.8g", signals[s].high);
  COLUMN("%-8d", signals[s].least);
  COLUMN("%-8d", signals[s].most);
  COLUMN("%-80s", signals[s].prefilter);
  COLUMN("%-8d", signals[s].samples);
  COLUMN("%-32s", s < 0 ? "-" : "");
  for (int r = 0; r < RECORDS; r++)
    for (int s = 0; s < SIGNALS; s++)
      for (int i = 0; i < signals[s].samples; i++) {
        int d = digital[s][r * signals[s].samples + i];
        fputc(d & 255, f), fputc(d >> 8 & 255, f), fputc(d >> 16 & 255, f);
      }
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
    int n = RECORDS * signals[s].samples, back[RECORDS * 64];
    double physical[RECORDS * 64];
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
  invent();
  write_continuous("continuous.bdf");
  write_gaps("gaps.bdf", "continuous.bdf");
  write_plain("plain.bdf");
  FILE *f = fopen("samples24.tsv", "w");
  if (!f) stop("samples24.tsv");
  fprintf(f, "signal\tsample\tdigital\tphysical\n");
  verify("continuous.bdf", f);
  fclose(f);
  verify("plain.bdf", NULL);
  verify("gaps.bdf", NULL);
  return 0;
}
