// SPDX-License-Identifier: GPL-3.0-or-later
#include <nlohmann/json.hpp>

#include "clockassay/report/report.h"
#include "report/record_json.h"

namespace clockassay {

Result<std::string> json_report(const Record& record) {
  auto tree = record_json(record);
  if (!tree) return tl::unexpected(tree.error());
  // Escaping everything but ASCII keeps names from acting on a terminal. The
  // tree holds valid UTF-8 only, so dump cannot throw.
  constexpr int kIndent = 2;
  return tree->dump(kIndent, ' ', /*ensure_ascii=*/true) + '\n';
}

Result<std::string> json_line(const Record& record) {
  auto tree = record_json(record);
  if (!tree) return tl::unexpected(tree.error());
  return tree->dump(-1, ' ', /*ensure_ascii=*/true) + '\n';
}

}  // namespace clockassay
