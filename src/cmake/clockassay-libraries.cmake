# SPDX-License-Identifier: GPL-3.0-or-later
# The libraries below clockassay's own, as targets clockassay::NAME: for the
# build, and for whoever links an installed clockassay. Archives first: a shared
# library costs milliseconds at every start. What is not found is appended to
# clockassay_missing: a build fails on it, a package says it is not found.
function(clockassay_library name header)
  if(TARGET clockassay::${name})
    return()
  endif()
  string(TOUPPER CLOCKASSAY_${name} prefix)
  find_library(${prefix}_LIBRARY NAMES lib${name}.a ${name})
  find_path(${prefix}_INCLUDE ${header})
  mark_as_advanced(${prefix}_LIBRARY ${prefix}_INCLUDE)
  if(NOT ${prefix}_LIBRARY OR NOT ${prefix}_INCLUDE)
    set(clockassay_missing ${clockassay_missing} ${name} PARENT_SCOPE)
    return()
  endif()
  add_library(clockassay::${name} UNKNOWN IMPORTED GLOBAL)
  set_target_properties(clockassay::${name} PROPERTIES
    IMPORTED_LOCATION "${${prefix}_LIBRARY}"
    INTERFACE_INCLUDE_DIRECTORIES "${${prefix}_INCLUDE}")
endfunction()

set(clockassay_missing "")
clockassay_library(zstd zstd.h)
clockassay_library(fftw3 fftw3.h)
clockassay_library(pugixml pugixml.hpp)
