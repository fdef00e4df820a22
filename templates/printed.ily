\version "2.24.0"

%% Counts what is printed, for the proof that every sign of the part stands on the page.
%%
%% Given to LilyPond beside a score, never part of it; boxes.ily writes what is counted here.  Each
%% thing counts once, in its staff (1 is the uppermost of its system, 0 is none) and at the moment
%% in whole notes where it begins, however many pieces line ends make of it.

#(use-modules (srfi srfi-1))

#(define printed:kinds
   '(NoteHead Rest MultiMeasureRest Beam Flag Accidental AccidentalCautionary Dots DynamicText
     Hairpin Slur PhrasingSlur Tie LaissezVibrerTie RepeatTie LyricText MetronomeMark Fingering
     Arpeggio TupletNumber TrillSpanner OttavaBracket Glissando StemTremolo RehearsalMark Script
     TextScript TextSpanner TextMark BarNumber))

#(define printed:ornaments
   '(trill mordent prall turn reverseturn slashturn haydnturn prallprall))

%% What was counted already: pieces of one thing on several lines are one.
#(define printed:seen (make-hash-table))

#(define (printed:first-piece? grob)
   (let ((whole (ly:grob-original grob)))
     (or (not (ly:spanner? grob))
         (and (not (hashq-ref printed:seen whole #f))
              (begin (hashq-set! printed:seen whole #t) #t)))))

%% How a thing counts, or #f if nothing of it is seen.  A head that another voice's head replaces
%% counts apart, and so does one that the source hides.
#(define (printed:as grob name)
   (let ((stencil (ly:grob-property grob 'stencil #f)))
     (and (ly:stencil? stencil)
          (not (ly:stencil-empty? stencil))
          (cond
           ((eq? #t (ly:grob-property grob 'transparent #f))
            (and (eq? name 'NoteHead) 'NoteHead~))
           ((and (eq? name 'Script)
                 (memq (ly:event-property (event-cause grob) 'articulation-type #f)
                       printed:ornaments))
            'Ornament)
           (else name)))))

%% The things of a system, as strings in the order of time: "NoteHead 1 3/4 2" is two heads of the
%% first staff three quarters after the beginning.  Pedal marks and rooms are not counted.
#(define (printed:count grobs symbols skipped?)
   (let ((counts (make-hash-table 251))
         (numbers (map cons symbols (iota (length symbols) 1))))
     (for-each
      (lambda (grob)
        (let ((name (assq-ref (ly:grob-property grob 'meta) 'name)))
          (if (memq name printed:kinds)
              (let ((as (and (not (skipped? grob)) (printed:as grob name))))
                (if (and as (printed:first-piece? grob))
                    (let* ((symbol (ly:grob-object grob 'staff-symbol #f))
                           (moment (ly:moment-main (grob::when grob)))
                           (key (list moment (or (assq-ref numbers symbol) 0) as)))
                      (hash-set! counts key (1+ (hash-ref counts key 0)))))))))
      grobs)
     (map
      (lambda (entry)
        (let ((key (car entry)))
          (string-append (symbol->string (third key)) " " (number->string (second key)) " "
                         (number->string (first key)) " " (number->string (cdr entry)))))
      (sort (hash-map->list cons counts)
            (lambda (one other)
              (let ((a (car one)) (b (car other)))
                (cond ((not (= (first a) (first b))) (< (first a) (first b)))
                      ((not (= (second a) (second b))) (< (second a) (second b)))
                      (else (symbol<? (third a) (third b))))))))))

%% ---- contacts ---------------------------------------------------------------------------------

%% Things that must not meet, looked for only where they could: a rest and the heads of its own
%% moment and staff, a dynamic and barlines or arpeggios, a beam and the stems that it should hold.

#(define printed:slack 0.05)     % staff spaces by which boxes may overlap

#(define (printed:meet? one other)
   (and (< (+ (first one) printed:slack) (third other))
        (< (+ (first other) printed:slack) (third one))
        (< (+ (second one) printed:slack) (fourth other))
        (< (+ (second other) printed:slack) (fourth one))))

%% (what other moment staff) of every contact in a system; box-of gives a grob's box on the paper
%% or #f.
#(define (printed:contacts grobs symbols box-of)
   (let ((numbers (map cons symbols (iota (length symbols) 1)))
         (heads (make-hash-table 61))
         (rests '()) (dynamics '()) (lines '()) (beams '()) (found '()))
     (for-each
      (lambda (grob)
        (case (assq-ref (ly:grob-property grob 'meta) 'name)
          ((NoteHead)
           (let ((column (ly:item-get-column grob)))
             (hashq-set! heads column (cons grob (hashq-ref heads column '())))))
          ((Rest) (set! rests (cons grob rests)))
          ((DynamicText) (set! dynamics (cons grob dynamics)))
          ((BarLine SpanBar Arpeggio) (set! lines (cons grob lines)))
          ((Beam) (if (eq? #t (ly:grob-property grob 'cross-staff #f))
                      (set! beams (cons grob beams))))))
      grobs)
     (let ((tell (lambda (what other grob)
                   (set! found
                         (cons (list what other (ly:moment-main (grob::when grob))
                                     (or (assq-ref numbers (ly:grob-object grob 'staff-symbol #f))
                                         0))
                               found))))
           (seen? (lambda (grob) (not (eq? #t (ly:grob-property grob 'transparent #f))))))
       (for-each
        (lambda (rest)
          (let ((box (box-of rest)) (symbol (ly:grob-object rest 'staff-symbol #f)))
            (if (and box
                     (any (lambda (head)
                            (and (eq? symbol (ly:grob-object head 'staff-symbol #f))
                                 (seen? head)
                                 (let ((other (box-of head)))
                                   (and other (printed:meet? box other)))))
                          (hashq-ref heads (ly:item-get-column rest) '())))
                (tell 'Rest 'NoteHead rest))))
        rests)
       (if (pair? dynamics)
           (let ((boxes (filter-map
                         (lambda (line)
                           (let ((box (and (seen? line) (box-of line))))
                             (and box (cons (assq-ref (ly:grob-property line 'meta) 'name) box))))
                         lines)))
             (for-each
              (lambda (dynamic)
                (let* ((box (box-of dynamic))
                       (met (and box (find (lambda (line) (printed:meet? box (cdr line))) boxes))))
                  (if met (tell 'DynamicText (car met) dynamic))))
              dynamics)))
       (for-each
        (lambda (beam)
          (let ((box (box-of beam)))
            (for-each
             (lambda (stem)
               (let ((own (and (seen? stem) (box-of stem))))
                 (if (and box own
                          (> (max (- (second own) (fourth box)) (- (second box) (fourth own))) 0.3))
                     (tell 'Beam 'Stem stem))))
             (ly:grob-array->list (ly:grob-object beam 'stems)))))
        beams))
     (reverse found)))
