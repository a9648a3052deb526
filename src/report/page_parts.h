// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

namespace clockassay {

// What every page carries, from the files of src/report/web and the chart
// library, put into the program when it is built.
extern const char* const kPageStyle;     ///< report.css
extern const char* const kPageScript;    ///< report.js
extern const char* const kChartStyle;    ///< of the chart library
extern const char* const kChartScript;   ///< of the chart library
extern const char* const kChartLicense;  ///< of the chart library

}  // namespace clockassay
