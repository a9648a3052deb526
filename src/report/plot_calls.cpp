// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/plot_calls.h"

#include <dlfcn.h>
#include <plplot/plplot.h>

#include <algorithm>
#include <array>
#include <cstdio>
#include <string>
#include <string_view>

#include "base/loaded_function.h"

namespace clockassay {
namespace {

// The name that stands for the calls below, not for one release of the library.
constexpr const char* kLibrary = "libplplot.so.17";

void* library() {
  // Global, because the library loads its SVG writer, which looks for it.
  static void* const handle = dlopen(kLibrary, RTLD_NOW | RTLD_GLOBAL);
  return handle;
}

template <class Function>
Function* loaded(const char* name) {
  return loaded_function<Function>(library(), name);
}

/// The library ends the program where it is asked for one that is not there.
bool has_svg_writer() {
  std::array<const char*, 64> titles{}, names{};
  const char** title = titles.data();
  const char** name = names.data();
  int count = static_cast<int>(names.size());
  loaded<decltype(plgDevs)>("plgDevs")(&title, &name, &count);
  return std::any_of(names.begin(), names.begin() + count, [](const char* n) {
    return n != nullptr && std::string_view(n) == "svg";
  });
}

}  // namespace

Result<void> have_plotting_library() {
  if (library() != nullptr) {
    if (has_svg_writer()) return {};
    return failure(ErrorCode::kCannotCreate,
                   "the plotting library finds no writer of SVG",
                   "install the package libplplot17 again, and leave "
                   "PLPLOT_DRV_DIR unset");
  }
  return failure(ErrorCode::kCannotCreate,
                 std::string("found no ") + kLibrary +
                     ", expected the plotting library that charts are made "
                     "with",
                 "install the package libplplot17");
}

}  // namespace clockassay

// Those of the library's functions that charts use, under their own names and
// with its own declarations: each hands on to the library.
// NOLINTNEXTLINE(cppcoreguidelines-macro-usage)
#define CLOCKASSAY_CALL(name, parameters, arguments)                     \
  extern "C" void name parameters {                                      \
    static auto* const call = clockassay::loaded<decltype(name)>(#name); \
    call arguments;                                                      \
  }

CLOCKASSAY_CALL(c_pladv, (PLINT a), (a))
CLOCKASSAY_CALL(c_plbox,
                (PLCHAR_VECTOR a, PLFLT b, PLINT c, PLCHAR_VECTOR d, PLFLT e,
                 PLINT f),
                (a, b, c, d, e, f))
CLOCKASSAY_CALL(c_plcol0, (PLINT a), (a))
CLOCKASSAY_CALL(c_plend, (), ())
CLOCKASSAY_CALL(plsabort, (void (*a)(PLCHAR_VECTOR)), (a))
CLOCKASSAY_CALL(plsfile, (FILE * a), (a))
CLOCKASSAY_CALL(c_plfill, (PLINT a, PLFLT_VECTOR b, PLFLT_VECTOR c), (a, b, c))
CLOCKASSAY_CALL(c_plinit, (), ())
CLOCKASSAY_CALL(c_plline, (PLINT a, PLFLT_VECTOR b, PLFLT_VECTOR c), (a, b, c))
CLOCKASSAY_CALL(c_plmtex,
                (PLCHAR_VECTOR a, PLFLT b, PLFLT c, PLFLT d, PLCHAR_VECTOR e),
                (a, b, c, d, e))
CLOCKASSAY_CALL(c_plptex,
                (PLFLT a, PLFLT b, PLFLT c, PLFLT d, PLFLT e, PLCHAR_VECTOR f),
                (a, b, c, d, e, f))
CLOCKASSAY_CALL(c_plschr, (PLFLT a, PLFLT b), (a, b))
CLOCKASSAY_CALL(c_plscol0, (PLINT a, PLINT b, PLINT c, PLINT d), (a, b, c, d))
CLOCKASSAY_CALL(c_plsdev, (PLCHAR_VECTOR a), (a))
CLOCKASSAY_CALL(c_plsmaj, (PLFLT a, PLFLT b), (a, b))
CLOCKASSAY_CALL(c_plsmin, (PLFLT a, PLFLT b), (a, b))
CLOCKASSAY_CALL(c_plspage,
                (PLFLT a, PLFLT b, PLINT c, PLINT d, PLINT e, PLINT f),
                (a, b, c, d, e, f))
CLOCKASSAY_CALL(c_plstyl, (PLINT a, PLINT_VECTOR b, PLINT_VECTOR c), (a, b, c))
CLOCKASSAY_CALL(c_plsxax, (PLINT a, PLINT b), (a, b))
CLOCKASSAY_CALL(c_plsyax, (PLINT a, PLINT b), (a, b))
CLOCKASSAY_CALL(c_pltimefmt, (PLCHAR_VECTOR a), (a))
CLOCKASSAY_CALL(c_plvpor, (PLFLT a, PLFLT b, PLFLT c, PLFLT d), (a, b, c, d))
CLOCKASSAY_CALL(c_plwidth, (PLFLT a), (a))
CLOCKASSAY_CALL(c_plwind, (PLFLT a, PLFLT b, PLFLT c, PLFLT d), (a, b, c, d))
