/* cc -O2 -o edflib_read edflib_read.c -ledf && ./edflib_read written.edf > written.tsv    (Debian: libedf-dev)
 *
 * Prints what EDFlib reads from a file: a line for the header, each signal, each
 * annotation (onset and duration in units of 100 ns) and each sample (digital).
 */
#include <edflib.h>
#include <stdio.h>
#include <stdlib.h>

int main(int argc, char **argv) {
  struct edf_hdr_struct h;
  if (argc != 2) return 2;
  if (edfopen_file_readonly(argv[1], &h, EDFLIB_READ_ALL_ANNOTATIONS)) {
    fprintf(stderr, "%s: EDFlib does not read it (%d)\n", argv[1], h.filetype);
    return 1;
  }
  printf("file\t%d\t%d\t%lld\t%lld\t%04d-%02d-%02d %02d:%02d:%02d\t%s\n", h.filetype, h.edfsignals, h.datarecords_in_file,
         h.datarecord_duration, h.startdate_year, h.startdate_month, h.startdate_day, h.starttime_hour, h.starttime_minute,
         h.starttime_second, h.patientcode);
  for (int s = 0; s < h.edfsignals; s++) {
    struct edf_param_struct *p = &h.signalparam[s];
    printf("signal\t%d\t%s\t%s\t%.17g\t%.17g\t%d\t%d\t%d\n", s, p->label, p->physdimension, p->phys_min, p->phys_max,
           p->dig_min, p->dig_max, p->smp_in_datarecord);
  }
  for (int i = 0; i < h.annotations_in_file; i++) {
    struct edf_annotation_struct a;
    if (edf_get_annotation(h.handle, i, &a)) return 1;
    printf("annotation\t%lld\t%lld\t%s\n", a.onset, a.duration_l, a.annotation);
  }
  for (int s = 0; s < h.edfsignals; s++) {
    int n = (int)h.signalparam[s].smp_in_file, *d = malloc(sizeof(int) * n);
    if (!d || edfread_digital_samples(h.handle, s, n, d) != n) return 1;
    for (int i = 0; i < n; i++) printf("sample\t%d\t%d\t%d\n", s, i, d[i]);
    free(d);
  }
  edfclose_file(h.handle);
  return 0;
}
