// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "clockassay/analysis/record.h"

namespace clockassay {

struct JunitOptions {
  bool allow_undecided = false;  ///< undecided is skipped, not a failure
};

/// The record for CI systems, as JUnit XML. A suite for each capture with its
/// tags as properties; a test case for each verdict, or for each curve where
/// none is asked for, and one for each error. A fail is a failure of type
/// "fail", an undecided one of type "undecided"; what could not be used is an
/// error.
std::string junit_report(const Record& record,
                         const JunitOptions& options = {});

}  // namespace clockassay
