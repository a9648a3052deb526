# SPDX-License-Identifier: GPL-3.0-or-later
# The libraries below clockassay's own, as targets clockassay::NAME: for the
# build, and for whoever links an installed clockassay. Archives first: a shared
# library costs milliseconds at every start.
function(clockassay_library name header)
  if(TARGET clockassay::${name})
    return()
  endif()
  string(TOUPPER CLOCKASSAY_${name} prefix)
  find_library(${prefix}_LIBRARY NAMES lib${name}.a ${name} REQUIRED)
  find_path(${prefix}_INCLUDE ${header} REQUIRED)
  mark_as_advanced(${prefix}_LIBRARY ${prefix}_INCLUDE)
  add_library(clockassay::${name} UNKNOWN IMPORTED GLOBAL)
  set_target_properties(clockassay::${name} PROPERTIES
    IMPORTED_LOCATION "${${prefix}_LIBRARY}"
    INTERFACE_INCLUDE_DIRECTORIES "${${prefix}_INCLUDE}")
endfunction()

clockassay_library(zstd zstd.h)
clockassay_library(fftw3 fftw3.h)
clockassay_library(pugixml pugixml.hpp)
