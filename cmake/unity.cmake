# Several sources of one target compiled in one go: most of a build is reading the same headers
# again. For machines that build everything once (tools/test --ci); off for daily work, where one
# changed file should compile alone, and off wherever includes are to be proven complete.
option(CLUTCHWARD_UNITY "Compile several sources of one target in one go" OFF)

# Sources whose private names clash with a neighbour's stand in SEPARATE and compile alone.
function(compile_together target)
  cmake_parse_arguments(GO "" "" "SEPARATE" ${ARGN})
  if(CLUTCHWARD_UNITY)
    set_target_properties(${target} PROPERTIES UNITY_BUILD ON UNITY_BUILD_BATCH_SIZE 10)
    set_source_files_properties(${GO_SEPARATE} PROPERTIES SKIP_UNITY_BUILD_INCLUSION ON)
  endif()
endfunction()
