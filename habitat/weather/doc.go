// Package weather reads the daily record of one station into a plain series:
// extremes of air temperature in °C, precipitation, snowfall and snow depth in
// millimetres, a value for each day, NaN where there is none.
//
// Three forms are known by what stands in the file: GHCN-Daily .dly, GHCN-Daily
// CSV by station (Menne and others 2012, J. Atmos. Oceanic Technol. 29:897–910,
// and its readme files), and a table whose first line names its columns. The
// first two have their units by standard. A table tells them in its column
// names (tmax_c, prcp_in) or has to be told them: none is ever guessed.
//
// Values that failed quality control are dropped and counted. What is missing
// stays missing: nothing is filled in here.
package weather
