// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/importer_registry.h"

#include "capture/csv_importer.h"
#include "capture/vcd_importer.h"

namespace clockassay {
namespace {

// VCD first: its beginning cannot be mistaken for anything else.
constexpr Importer kImporters[] = {
    {"vcd", recognises_vcd, read_vcd_header},
    {"csv", recognises_csv, read_csv_header},
};

}  // namespace

std::span<const Importer> importers() {
  return kImporters;
}

}  // namespace clockassay
