# SPDX-License-Identifier: Apache-2.0
# The compile flags every target shares, and one function for each kind of target.

add_library(frayhold_flags INTERFACE)
target_compile_options(frayhold_flags INTERFACE
  -Wall -Wextra -Wconversion -Wshadow -Werror
  # g++ 12 reports false positives of these in its own headers at -O2 and above.
  $<$<CXX_COMPILER_ID:GNU>:-Wno-error=restrict;-Wno-error=maybe-uninitialized;-Wno-error=stringop-overflow;-Wno-error=array-bounds>
  # The same photo must measure alike on every machine.
  -ffp-contract=off
  # clang++ warns of more than g++; -Werror is for what both know.
  $<$<CXX_COMPILER_ID:Clang>:-Wno-error>)
if(FRAYHOLD_PACKAGE)
  # What a package holds must not hang on where it was built.
  target_compile_options(frayhold_flags INTERFACE -ffile-prefix-map=${PROJECT_SOURCE_DIR}/=)
endif()
if(FRAYHOLD_FUZZ)
  target_compile_options(frayhold_flags INTERFACE
    -O1 -g1 -fsanitize=fuzzer-no-link,address,undefined -fno-sanitize-recover=all -fno-omit-frame-pointer)
  target_link_options(frayhold_flags INTERFACE -fsanitize=address,undefined)
endif()
if(FRAYHOLD_SANITIZE)
  # Not virtual tables: that check asks by a pipe whether memory can be read, which the confined reader of photos may not
  # make, and for type information that Debian's SOCI keeps to itself.
  target_compile_options(frayhold_flags INTERFACE
    -fsanitize=address,undefined -fno-sanitize=vptr -fno-sanitize-recover=all -fno-omit-frame-pointer)
  target_link_options(frayhold_flags INTERFACE -fsanitize=address,undefined)
endif()
if(FRAYHOLD_COVERAGE)
  target_compile_options(frayhold_flags INTERFACE --coverage)
  target_link_options(frayhold_flags INTERFACE --coverage)
endif()

# frayhold_library(<folder> [PIXELS] [APART] SOURCES <file>... LINKS <target>...)
# makes the static library frayhold_<folder>, alias frayhold::<folder>, of src/<folder>.
# PIXELS: the folder works on whole pictures. The others handle words and rows, where the compiler's time counts for
#   more than theirs.
# APART: its sources are never compiled together, since many name things of their own alike.
function(frayhold_library folder)
  cmake_parse_arguments(ARG "PIXELS;APART" "" "SOURCES;LINKS" ${ARGN})
  add_library(frayhold_${folder} STATIC ${ARG_SOURCES})
  add_library(frayhold::${folder} ALIAS frayhold_${folder})
  target_include_directories(frayhold_${folder} PUBLIC ${PROJECT_SOURCE_DIR}/src)
  # For another's program that takes the library in: its headers need it.
  target_compile_features(frayhold_${folder} PUBLIC cxx_std_20)
  target_link_libraries(frayhold_${folder} PUBLIC ${ARG_LINKS} PRIVATE frayhold_flags)
  if(NOT ARG_PIXELS)
    target_compile_options(frayhold_${folder} PRIVATE -O1)
  endif()
  if(NOT ARG_PIXELS AND NOT ARG_APART)
    frayhold_compile_together(frayhold_${folder})
  endif()
endfunction()

# Where FRAYHOLD_TOGETHER is on, several sources of a target are compiled as one: most of their time goes into the same
# headers. A clean build is faster by it, a change to one source slower.
function(frayhold_compile_together target)
  set_target_properties(${target} PROPERTIES UNITY_BUILD ${FRAYHOLD_TOGETHER} UNITY_BUILD_BATCH_SIZE 8)
endfunction()

# frayhold_test(<name> [APART] SOURCES <file>... LINKS <target>...)
# makes the Catch2 program test_<name> and registers it as one CTest test per program.
function(frayhold_test name)
  cmake_parse_arguments(ARG "APART" "" "SOURCES;LINKS" ${ARGN})
  add_executable(test_${name} ${ARG_SOURCES})
  target_link_libraries(test_${name} PRIVATE ${ARG_LINKS} frayhold_test_main frayhold_flags)
  target_compile_definitions(test_${name} PRIVATE FRAYHOLD_SOURCE_DIR="${PROJECT_SOURCE_DIR}")
  # Tests are compiled often and run once: the compiler's time counts for more than theirs.
  target_compile_options(test_${name} PRIVATE -O1)
  if(NOT ARG_APART)
    frayhold_compile_together(test_${name})
  endif()
  add_test(NAME ${name} COMMAND test_${name})
endfunction()

# frayhold_test_catalogue(<name>)
# compiles the de.po beside the caller for test_<name>, which finds it under TEST_CATALOGUES, laid out as gettext has it.
function(frayhold_test_catalogue name)
  set(folder ${CMAKE_CURRENT_BINARY_DIR}/locale)
  set(catalogue ${folder}/de/LC_MESSAGES/frayhold.mo)
  add_custom_command(OUTPUT ${catalogue}
    COMMAND ${CMAKE_COMMAND} -E make_directory ${folder}/de/LC_MESSAGES
    COMMAND ${MSGFMT} -o ${catalogue} ${CMAKE_CURRENT_SOURCE_DIR}/de.po
    DEPENDS de.po VERBATIM)
  add_custom_target(frayhold_${name}_catalogue ALL DEPENDS ${catalogue})
  add_dependencies(test_${name} frayhold_${name}_catalogue)
  target_compile_definitions(test_${name} PRIVATE TEST_CATALOGUES="${folder}")
endfunction()
