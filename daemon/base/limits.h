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
// Topics known of one cabinet, on the average of all; what is past it is refused.
inline constexpr std::size_t kTopicsPerCabinet = 256;
// On/off quantities of one cabinet; a stranger past it is not kept.
inline constexpr std::size_t kSignalsPerCabinet = 32;
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
// What a browser opens at once is about six; a household behind one address a few times that.
inline constexpr std::size_t kHttpConnectionsPerAddress = 32;
// Request line, headers and buffers of one connection: a browser sends about 1 kB.
inline constexpr std::size_t kHttpConnectionBytes = 16 * 1024;
// Of a body that is too long this much is still read and thrown away, so that the refusal arrives.
inline constexpr std::size_t kHttpDiscardedBytes = 64 * 1024;
// The keeper's command and scripts beside it, not a crowd.
inline constexpr std::size_t kControlConnections = 128;
// Commands whose outcome is not durable yet; past it the next is asked to come again.
inline constexpr std::size_t kHttpWaitingCommands = 64;
// Cabinets written out on one page, worst first; the rest have pages of their own. And what is told
// of those that are left alone on purpose.
inline constexpr std::size_t kPageCabinets = 50;
inline constexpr std::size_t kPageUnwatched = 40;
// Phones and desks that stay logged in, and those of one person; past it the oldest is forgotten.
inline constexpr std::size_t kSessions = 1024;
inline constexpr std::size_t kSessionsPerPerson = 16;
// Whose wrong passphrases are counted; past it the oldest is forgotten.
inline constexpr std::size_t kAttemptKeys = 4096;
// Passphrases waiting to be looked at, one at a time: each takes 19 MiB.
inline constexpr std::size_t kWaitingHashes = 4;
// Fields of one form, and alarms that one press covers.
inline constexpr std::size_t kFormFields = 96;
inline constexpr std::size_t kLinkBytes = 1024;
// Open event streams; past it the page still renews itself the plain way. What one reader may be
// behind before it is cut off.
inline constexpr std::size_t kEventStreams = 256;
inline constexpr std::size_t kStreamBytes = 16 * 1024;
inline constexpr std::size_t kWebhookReplyBytes = 64 * 1024;
// Lines that a mail or web server may say in one transfer and the part of each that is kept.
inline constexpr std::size_t kChannelReplyLines = 256;
inline constexpr std::size_t kChannelReplyLineBytes = 1024;
// Messages waiting in one channel; the outbox keeps what is past it and offers it again.
inline constexpr std::size_t kChannelQueue = 4096;
inline constexpr std::size_t kSecretFileBytes = 4 * 1024;
inline constexpr std::size_t kSecretLines = 8;

// Records of batches that ended, at hand for lists and corrections, about 5 kB each; past it the
// oldest go as soon as the history has them, or at once where none is kept. Where the history fails
// for long there may be twice as many. 200 are the batches of a year on a farm of 20 cabinets.
inline constexpr std::size_t kFinishedRecords = 200;
// Rows of the history that are committed at once, whatever the time; and the most that wait for a
// disk that fails before they are let go: about 20 MB.
inline constexpr std::size_t kHistoryRowsACommit = 100'000;
// And so many bytes of them: 20 cabinets gather about 150 kB in ten minutes.
inline constexpr std::size_t kHistoryBytesACommit = 256 * 1024;
// Questions to the history that wait for its reader; curves kept ready for the pages; points of one
// curve, and the minutes that are looked at for it (past that every second, third ... of them).
inline constexpr std::size_t kHistoryQuestions = 16;
inline constexpr std::size_t kReadyCurves = 16;
inline constexpr std::size_t kCurvePoints = 2'000;
inline constexpr std::size_t kCurveMinutes = 12'000;
// Events of one curve, the latest; and those read back at the start for "since you last looked".
inline constexpr std::size_t kCurveEvents = 1'000;
// Batches whose figures stand beside one another: each is read from end to end. Events of one
// instant that a look at the history passes over: a storm over all cabinets raises as many.
inline constexpr std::size_t kComparedBatches = 8;
inline constexpr std::size_t kEventsSkipped = 20'000;
// Profiles and cabinets offered to choose from in a form.
inline constexpr std::size_t kChoices = 300;

// A reply by mail is a line and what it quotes: our own mail is 10 kB; pictures are no reply.
inline constexpr std::size_t kMailBytes = 256 * 1024;
inline constexpr std::size_t kMailHeaders = 256;
inline constexpr std::size_t kMailHeaderBytes = 4 * 1024;
// Mails looked at in one look into the mailbox, the newest: past it they are no answers of today.
inline constexpr std::size_t kMailsALook = 200;
// One line that a mail server says, a search's list of numbers most of all; and one whole answer.
inline constexpr std::size_t kImapLineBytes = 64 * 1024;
inline constexpr std::size_t kImapAnswerBytes = kMailBytes + 2 * kImapLineBytes;
// Messages that can be answered by mail, and replies taken to each; past it the oldest is forgotten
// and the next refused.
inline constexpr std::size_t kAnswerableMessages = 1024;
inline constexpr std::size_t kRepliesAMessage = 32;

}  // namespace clutchward::limits
