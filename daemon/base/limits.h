// Every limit on what a stranger can send, in one place. Each is tested.
#pragma once

#include <cstddef>

namespace clutchward::limits {

// A reading is a few dozen bytes, a gateway's JSON a few hundred; what is larger is no reading.
inline constexpr std::size_t kPayloadBytes = 8 * 1024;
// Gateways nest a handful of levels.
inline constexpr std::size_t kJsonDepth = 64;
inline constexpr std::size_t kTopicBytes = 512;
inline constexpr std::size_t kCommandBytes = 8 * 1024;
// Readings waiting for the loop, in bytes of one inbox buffer; past it the newest is dropped.
inline constexpr std::size_t kInboxBytes = 4 * 1024 * 1024;
inline constexpr std::size_t kCommandInboxBytes = 1024 * 1024;
inline constexpr std::size_t kProbesPerCabinet = 64;
inline constexpr std::size_t kBatchesPerCabinet = 64;
inline constexpr std::size_t kRulesPerLayer = 64;
inline constexpr std::size_t kPatterns = 256;
// Command ids remembered, so that a command is done once however often it arrives.
inline constexpr std::size_t kCommandIds = 4096;
inline constexpr std::size_t kConfigBytes = 1024 * 1024;
inline constexpr std::size_t kYamlDepth = 20;
inline constexpr std::size_t kYamlNodes = 200'000;
// State files: what the daemon wrote, or a person edited. The largest holds the whole outbox.
inline constexpr std::size_t kStateFileBytes = 64 * 1024 * 1024;
inline constexpr std::size_t kJournalBytes = 256 * 1024 * 1024;
inline constexpr std::size_t kStateNodes = 2'000'000;
// Turns waiting for the disk one by one; past it they become one turn (last value of each key).
inline constexpr std::size_t kWaitingTurns = 4096;
// Damaged state files kept for a look; past it the last place is used again.
inline constexpr std::size_t kDamagedFiles = 20;
inline constexpr std::size_t kOutboxEntries = 10'000;
inline constexpr std::size_t kHttpBodyBytes = 8 * 1024;
inline constexpr std::size_t kHttpConnections = 512;
inline constexpr std::size_t kWebhookReplyBytes = 64 * 1024;

}  // namespace clutchward::limits
