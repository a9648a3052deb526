// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <pugixml.hpp>
#include <string>
#include <vector>

#include "clockassay/report/chart.h"

namespace clockassay {

struct PageHead {
  std::string title;
  std::string tool_version;
};

/// A whole page: what it shows, and what makes its charts live.
std::string page_text(const PageHead& head, const pugi::xml_document& body,
                      const std::vector<Chart>& charts);

}  // namespace clockassay
