// Package chart draws what runs over time or frequency: waveforms in rows, on
// the scalp or with maps below ([Traces]), epochs one by one ([EpochPicture]),
// a statistic at every site and sample ([SiteTime]), intervals ([Intervals])
// and what a filter does ([Response]). Maps below waveforms are package
// scalp's; the numbers come from the caller.
package chart
