\version "2.24.0"

%% Writes the boxes of the engraved page, for the proof that nothing collides with a pedal mark.
%%
%% Given to LilyPond beside a score (-dinclude-settings), never part of it.  Writes OUTPUT.boxes,
%% one JSON object a line: every page, system and title, every pedal mark, and of all other things
%% only those that come near a mark.  Unit: staff space; origin: top left corner of the paper;
%% x to the right, y down.
%%
%% Box: extent of the ink and of the air that a mark carries (its "air", on either side), taken from
%% the stencil, not from what spacing was told.  Where a slanted or curved thing comes near a mark,
%% its outline is written too: "up" and "down" are lists of segments [x0, y0, x1, y1].

#(use-modules (ice-9 format) (srfi srfi-1))

%% The page's stencil must be made before its lines know where they stand.
#(define boxes:page-stencil (@@ (lily page) page-stencil))
#(define boxes:system-stencil (@@ (lily paper-system) paper-system-stencil))

#(define boxes:near 1.5)         % staff spaces within which a thing is worth writing

#(define boxes:outlined
   '(Slur PhrasingSlur Tie LaissezVibrerTie RepeatTie Beam Hairpin TupletBracket OttavaBracket
     Glissando TextSpanner TrillSpanner DynamicTextSpanner Flag Arpeggio VoltaBracket
     LedgerLineSpanner StaffSymbol))

#(define (boxes:number value)
   (number->string (/ (round (* (exact->inexact value) 10000.0)) 10000.0)))

#(define (boxes:string text)
   (call-with-output-string
    (lambda (port)
      (display #\" port)
      (string-for-each
       (lambda (letter)
         (cond ((memv letter '(#\" #\\)) (display #\\ port) (display letter port))
               ((char<? letter #\space) (display #\space port))
               (else (display letter port))))
       text)
      (display #\" port))))

#(define (boxes:list values)
   (string-append "[" (string-join (map boxes:number values) ",") "]"))

#(define (boxes:sound? extent)
   (and (number-pair? extent) (finite? (car extent)) (finite? (cdr extent))
        (<= (car extent) (cdr extent))))

%% (left top right bottom baseline x) of a grob on the paper, or #f if it prints nothing.
#(define (boxes:of grob system left top)
   (let ((stencil (ly:grob-property grob 'stencil #f)))
     (and (ly:stencil? stencil)
          (let ((wide (ly:stencil-extent stencil X))
                (high (ly:stencil-extent stencil Y)))
            (and (boxes:sound? wide) (boxes:sound? high)
                 (let* ((shift (ly:grob-property grob 'extra-offset '(0 . 0)))
                        (x (+ left (car shift) (ly:grob-relative-coordinate grob system X)))
                        (y (- top (cdr shift) (ly:grob-relative-coordinate grob system Y))))
                   (list (+ x (car wide)) (- y (cdr high)) (+ x (cdr wide)) (- y (car high))
                         y x)))))))

%% As boxes:of for what reaches into the stretch from highest to lowest, else #f; most things of a
%% system lie outside, and are let go as soon as that is known.
#(define (boxes:within grob system left top highest lowest)
   (let ((stencil (ly:grob-property grob 'stencil #f)))
     (and (ly:stencil? stencil)
          (let ((high (ly:stencil-extent stencil Y)))
            (and (boxes:sound? high)
                 (let ((y (- top (cdr (ly:grob-property grob 'extra-offset '(0 . 0)))
                             (ly:grob-relative-coordinate grob system Y))))
                   (and (< (- y (cdr high)) lowest)
                        (> (- y (car high)) highest)
                        (boxes:of grob system left top))))))))

%% The y of the highest and of the lowest staff line of a system; of its reference point where it
%% has no staff.
#(define (boxes:staves grobs system left top)
   (let ((staves (filter-map
                  (lambda (grob)
                    (and (eq? (grob::name grob) 'StaffSymbol) (boxes:of grob system left top)))
                  grobs)))
     (if (pair? staves)
         (list (apply min (map second staves)) (apply max (map fourth staves)))
         (list top top))))

%% The staff symbols of a system from top to bottom.
#(define (boxes:symbols grobs system place)
   (map cdr
        (sort (filter-map
               (lambda (grob)
                 (and (eq? (grob::name grob) 'StaffSymbol)
                      (let ((box (boxes:of grob system (car place) (cdr place))))
                        (and box (cons (second box) grob)))))
               grobs)
              (lambda (one other) (< (car one) (car other))))))

%% Where the music of a system begins, after clef, key and time.
#(define (boxes:prefix system left)
   (let ((wide (ly:grob-extent (ly:spanner-bound system LEFT) system X)))
     (+ left (if (boxes:sound? wide) (cdr wide) 0))))

%% ["moment", x] of every barline within a system, each moment once.
#(define (boxes:bars grobs system left)
   (delete-duplicates
    (filter-map
     (lambda (grob)
       (and (eq? (grob::name grob) 'BarLine)
            (= CENTER (ly:item-break-dir grob))
            (ly:stencil? (ly:grob-property grob 'stencil #f))
            (format #f "[\"~a\",~a]" (ly:moment-main (grob::when grob))
                    (boxes:number (+ left (ly:grob-relative-coordinate grob system X))))))
     grobs)))

%% ["moment", x] of every moment of a system at which something sounds or rests, graces aside.
#(define (boxes:columns system left)
   (filter-map
    (lambda (column)
      (and (eq? (grob::name column) 'PaperColumn)
           (eq? system (ly:grob-system column))
           (zero? (ly:moment-grace (grob::when column)))
           (format #f "[\"~a\",~a]" (ly:moment-main (grob::when column))
                   (boxes:number (+ left (ly:grob-relative-coordinate column system X))))))
    (ly:grob-array->list (ly:grob-object system 'columns))))

%% From the lowest staff line of a system to the highest of the next where their outlines touch.
#(define (boxes:closest system next)
   (let* ((outlines (ly:grob-property system 'vertical-skylines))
          (below (ly:grob-property next 'vertical-skylines))
          (staves (lambda (system)
                    (boxes:staves (ly:grob-array->list (ly:grob-object system 'all-elements))
                                  system 0 0)))
          (least (ly:skyline-distance (car outlines) (cdr below)
                                      (ly:grob-property next 'skyline-horizontal-padding 0))))
     (- (+ least (first (staves next))) (second (staves system)))))

#(define (boxes:near? box mark)
   (and (< (- (car box) boxes:near) (third mark))
        (> (+ (third box) boxes:near) (first mark))
        (< (- (second box) boxes:near) (fourth mark))
        (> (+ (fourth box) boxes:near) (second mark))))

#(define (boxes:class grob)
   (let ((class (assq-ref (ly:grob-property grob 'output-attributes '()) 'class)))
     (if (string? class) class "")))

#(define (boxes:mark? grob)
   (and (eq? (grob::name grob) 'TextScript) (string-prefix? "pedal-" (boxes:class grob))))

%% Room that holds a row up prints nothing.
#(define (boxes:printed? grob) (not (string=? "room" (boxes:class grob))))

%% Neither a pedal mark nor room for one.
#(define (boxes:music? grob)
   (or (not (eq? (grob::name grob) 'TextScript)) (string=? "" (boxes:class grob))))

%% A skyline's points come in pairs, one pair a segment; where there is nothing, they are infinite.
#(define (boxes:segments points x y)
   (let loop ((rest points) (found '()))
     (if (or (null? rest) (null? (cdr rest)))
         (string-append "[" (string-join (reverse found) ",") "]")
         (let ((a (first rest)) (b (second rest)))
           (loop (cddr rest)
                 (if (and (finite? (car a)) (finite? (cdr a)) (finite? (car b)) (finite? (cdr b)))
                     (cons (boxes:list (list (+ x (car a)) (- y (cdr a))
                                             (+ x (car b)) (- y (cdr b))))
                           found)
                     found))))))

#(define (boxes:write-mark port page line grob box)
   (let ((attributes (ly:grob-property grob 'output-attributes '()))
         (air (* (magstep (ly:grob-property grob 'font-size 0))
                 (assq-ref (ly:grob-property grob 'details '((air . 0))) 'air)))
         (row (assq-ref (ly:grob-property grob 'details '()) 'row)))
     (format port "{\"kind\":\"mark\",\"page\":~a,\"line\":~a,\"name\":~a,\"class\":~a"
             page line
             (boxes:string (assq-ref attributes 'id)) (boxes:string (if (string? row)
                                (string-append (assq-ref attributes 'class) "-" row)
                                (assq-ref attributes 'class))))
     (format port ",\"box\":~a,\"baseline\":~a,\"air\":~a,\"moment\":\"~a\",\"grace\":\"~a\"}\n"
             (boxes:list (take box 4)) (boxes:number (fifth box)) (boxes:number air)
             (ly:moment-main (grob::when grob)) (ly:moment-grace (grob::when grob)))))

#(define (boxes:write-thing port page line grob box)
   (format port "{\"kind\":\"thing\",\"page\":~a,\"line\":~a,\"class\":\"~a\",\"box\":~a"
           page line (grob::name grob) (boxes:list (take box 4)))
   (if (memq (grob::name grob) '(Slur PhrasingSlur))
       (format port ",\"moment\":\"~a\""
               (ly:moment-main (grob::when (ly:grob-original grob)))))
   (if (memq (grob::name grob) boxes:outlined)
       (let ((outline (ly:skylines-for-stencil (ly:grob-property grob 'stencil) X)))
         (format port ",\"up\":~a,\"down\":~a"
                 (boxes:segments (ly:skyline->points (cdr outline) X) (sixth box) (fifth box))
                 (boxes:segments (ly:skyline->points (car outline) X) (sixth box) (fifth box)))))
   (display "}\n" port))

%% How much of a page its running head or its foot takes.
#(define (boxes:depth page name)
   (let* ((stencil (ly:prob-property page name #f))
          (high (if (ly:stencil? stencil) (ly:stencil-extent stencil Y) '(1 . 0))))
     (if (boxes:sound? high) (interval-length high) 0.0)))

#(define (boxes:write-page port layout page number next)
   (boxes:page-stencil page)
   (let* ((mirrored (and (ly:output-def-lookup layout 'two-sided #f)
                         (odd? (ly:prob-property page 'page-number number))))
          (left (+ (if mirrored
                       (ly:output-def-lookup layout 'right-margin 0.0)
                       (ly:prob-property page 'left-margin 0.0))
                   (ly:output-def-lookup layout 'horizontal-shift 0.0)))
          (top (ly:prob-property page 'top-margin 0.0))
          (lines (ly:prob-property page 'lines '()))
          (places
           (map (lambda (line)
                  (cons (+ left (ly:prob-property line 'X-offset 0.0))
                        (+ top (ly:prob-property line 'Y-offset 0.0))))
                lines))
          (systems (map (lambda (line) (ly:prob-property line 'system-grob #f)) lines))
          (elements
           (map (lambda (system)
                  (if (ly:grob? system)
                      (ly:grob-array->list (ly:grob-object system 'all-elements))
                      '()))
                systems))
          ;; (line grob box) of every mark on the page
          (marks
           (append-map
            (lambda (line system place grobs)
              (filter-map
               (lambda (grob)
                 (and (boxes:mark? grob)
                      (let ((box (boxes:of grob system (car place) (cdr place))))
                        (and box (list line grob box)))))
               grobs))
            (iota (length lines)) systems places elements)))
     (format port "{\"kind\":\"page\",\"page\":~a,\"width\":~a,\"height\":~a,\"space_mm\":~a"
             number
             (boxes:number (ly:output-def-lookup layout 'paper-width))
             (boxes:number (ly:output-def-lookup layout 'paper-height))
             (boxes:number (ly:output-def-lookup layout 'output-scale)))
     (format port ",\"left\":~a"
             (if (even? (ly:prob-property page 'page-number number)) "true" "false"))
     (format port ",\"head\":~a,\"foot\":~a}\n"
             (boxes:number (+ top (boxes:depth page 'head-stencil)))
             (boxes:number (- (ly:output-def-lookup layout 'paper-height)
                              (ly:output-def-lookup layout 'bottom-margin 0.0)
                              (boxes:depth page 'foot-stencil))))
     (for-each
      (lambda (index line system place grobs)
        (let* ((stencil (boxes:system-stencil line))
               (wide (ly:stencil-extent stencil X))
               (high (ly:stencil-extent stencil Y)))
          (if (and (boxes:sound? wide) (boxes:sound? high))
              (let* ((box (list (+ (car place) (car wide)) (- (cdr place) (cdr high))
                                (+ (car place) (cdr wide)) (- (cdr place) (car high))))
                     (near (filter (lambda (mark) (boxes:near? box (third mark))) marks))
                     (above (map (lambda (mark) (second (third mark))) near))
                     (below (map (lambda (mark) (fourth (third mark))) near)))
                (format port
                        "{\"kind\":\"~a\",\"page\":~a,\"line\":~a,\"box\":~a,\"right\":~a,\"staves\":~a"
                        (if (ly:grob? system) "system" "title") number index (boxes:list box)
                        (boxes:number
                         (+ (car place) (ly:output-def-lookup layout 'line-width)))
                        (boxes:list
                         (boxes:staves grobs system (car place) (cdr place))))
                (if (ly:grob? system)
                    (format port ",\"from\":\"~a\",\"to\":\"~a\""
                            (ly:moment-main (grob::when (ly:spanner-bound system LEFT)))
                            (ly:moment-main (grob::when (ly:spanner-bound system RIGHT)))))
                (if (ly:grob? system)
                    (format port ",\"prefix\":~a,\"bars\":[~a],\"columns\":[~a]"
                            (boxes:number (boxes:prefix system (car place)))
                            (string-join (boxes:bars grobs system (car place)) ",")
                            (string-join (boxes:columns system (car place)) ",")))
                (if (assq system next)
                    (format port ",\"closest\":~a"
                            (boxes:number (boxes:closest system (assq-ref next system)))))
                (display "}\n" port)
                (if (ly:grob? system)
                    (format port "{\"kind\":\"printed\",\"page\":~a,\"line\":~a,\"things\":[~a]}\n"
                            number index
                            (string-join
                             (map boxes:string
                                  (printed:count grobs (boxes:symbols grobs system place)
                                                 (lambda (grob) (not (boxes:music? grob)))))
                             ",")))
                (if (ly:grob? system)
                    (for-each
                     (lambda (contact)
                       (format port "{\"kind\":\"contact\",\"page\":~a,\"line\":~a" number index)
                       (format port ",\"what\":\"~a\",\"other\":\"~a\",\"moment\":\"~a\",\"staff\":~a}\n"
                               (first contact) (second contact) (third contact)
                               (fourth contact)))
                     (printed:contacts
                      grobs (boxes:symbols grobs system place)
                      (lambda (grob) (boxes:of grob system (car place) (cdr place))))))
                (if (pair? near)
                    (let ((highest (- (apply min above) boxes:near))
                          (lowest (+ (apply max below) boxes:near)))
                      (for-each
                       (lambda (grob)
                         (let ((box (boxes:within grob system (car place) (cdr place)
                                                  highest lowest)))
                           (if box
                               (cond
                                ((boxes:mark? grob)
                                 (boxes:write-mark port number index grob box))
                                ((and (boxes:printed? grob)
                                      (any (lambda (mark) (boxes:near? box (third mark))) near))
                                 (boxes:write-thing port number index grob box))))))
                       grobs)))))))
      (iota (length lines)) lines systems places elements)))

#(define (boxes:write layout pages)
   (let* ((port (open-output-file (string-append (ly:parser-output-name) ".boxes")))
          (lines (append-map (lambda (page) (ly:prob-property page 'lines '())) pages))
          (systems (filter ly:grob? (map (lambda (line) (ly:prob-property line 'system-grob #f))
                                         lines)))
          (next (if (pair? systems) (map cons (drop-right systems 1) (cdr systems)) '())))
     (set-port-encoding! port "UTF-8")
     (for-each (lambda (page number) (boxes:write-page port layout page number next))
               pages (map 1+ (iota (length pages))))
     (close-port port)))

\paper {
  #(define (page-post-process layout pages) (boxes:write layout pages))
}
